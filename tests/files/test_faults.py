"""From pydantic's errors to messages: code, values and place, whatever the form."""

from __future__ import annotations

import json
from typing import Annotated, Any, Literal

import pytest
from pydantic import BaseModel, ConfigDict, Field, ValidationError, field_validator

from coldfield.errors import BadInput
from coldfield.files.drill_json import read_drill
from coldfield.files.faults import ID_PATTERN, MOST_LINES, fault_lines, refusal
from coldfield.files.places import few, inside, line
from coldfield.message import Message, message, number
from coldfield.words import languages, say


class Inner(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True, allow_inf_nan=False)

    share: Annotated[float, Field(gt=0, lt=1)] = 0.5
    words: str = ""

    @field_validator("words")
    @classmethod
    def no_wind(cls, words: str) -> str:
        if "wind" in words:
            raise refusal(message("fault.id_twice", id="wind").at("[3].id"), message("fault.missing"))
        return words


class Form(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True, allow_inf_nan=False)

    above_to: Annotated[float, Field(gt=0, le=10)] = 1.0
    bounds: Annotated[float, Field(ge=-5000, le=5000)] = 1.0
    from_below: Annotated[float, Field(ge=1.5, lt=2)] | None = None
    least: Annotated[int, Field(ge=3)] = 3
    above: Annotated[float, Field(gt=0)] = 1.0
    most: Annotated[int, Field(le=3)] = 3
    below: Annotated[float, Field(lt=1e6)] = 3.0
    travel: Literal["on foot", "on ski", "on snowshoe"] = "on foot"
    count: Literal[1, 2] = 1
    id: Annotated[str, Field(pattern=ID_PATTERN)] = "a"
    inner: list[Inner] = Field(default_factory=list, min_length=0, max_length=1)


def faults(value: Any) -> list[Message]:
    with pytest.raises(ValidationError) as caught:
        Form.model_validate(value)
    return fault_lines(caught.value, Form)


@pytest.mark.parametrize(
    ("value", "code", "said"),
    [
        ({"above_to": 0}, "fault.above_to", "above_to: must be above 0 and at most 10"),
        ({"bounds": 1e9}, "fault.bounds", "bounds: must be at least −5,000 and at most 5,000"),
        ({"from_below": 2}, "fault.from_below", "from_below: must be at least 1.5 and below 2"),
        ({"inner": [{"share": 1}]}, "fault.between", "inner[0].share: must be above 0 and below 1"),
        ({"least": 2}, "fault.at_least", "least: must be at least 3"),
        ({"above": 0}, "fault.above", "above: must be above 0"),
        ({"most": 4}, "fault.at_most", "most: must be at most 3"),
        ({"below": 1e6}, "fault.below", "below: must be below 1,000,000"),
        ({"travel": "fly"}, "fault.one_of", "travel: must be 'on foot', 'on ski' or 'on snowshoe'"),
        ({"count": 3}, "fault.one_of", "count: must be 1 or 2"),
        ({"least": 2.5}, "fault.whole_number", "least: must be a whole number"),
        ({"above": "1"}, "fault.number", "above: must be a number"),
        ({"above": float("nan")}, "fault.finite_number", "above: must be a finite number"),
        ({"id": "-"}, "fault.pattern_id", "id: must be 1 to 64 letters, digits, - and _"),
        ({"inner": [{}, {}]}, "fault.too_many_entries", "inner: must have at most 1 entry"),
        ({"inner": {}}, "fault.list", "inner: must be a list [...]"),
        ({"travle": "on ski"}, "fault.unknown_key_near", "travle: is not a key here; did you mean travel?"),
        (
            {"inner": [{"x": 1}]},
            "fault.unknown_key_known",
            "inner[0].x: is not a key here; known keys: share",
        ),
        ([], "fault.object", "the whole file: must be an object {...}"),
    ],
)
def test_contract_each_kind_of_fault_has_its_code_and_its_place(value: Any, code: str, said: str) -> None:
    (fault,) = faults(value)
    assert fault.code == code
    assert say(fault).startswith(said)
    assert say(fault, "de") not in (say(fault), "")


def test_contract_bounds_are_values_not_words() -> None:
    (fault,) = faults({"above_to": 12})
    assert fault.values == {"low": number(0), "high": number(10)}
    assert fault.place == ("above_to",)


def test_contract_a_refusal_of_our_own_comes_through_with_values_and_place() -> None:
    twice, missing = faults({"inner": [{"words": "wind"}]})
    assert twice == message("fault.id_twice", id="wind").at("inner[0].words[3].id")
    assert missing == message("fault.missing").at("inner[0].words")


def test_contract_faults_beyond_the_most_are_counted() -> None:
    told = faults({f"key{i}": i for i in range(MOST_LINES + 2)})
    assert len(told) == MOST_LINES + 1
    assert told[-1] == message("fault.and_more", n=2)
    assert few(told, 100) == told
    assert say(few(told, 1, count=2)[-1]) == "and 1 more fault of this kind"


def test_contract_paths_join_and_lines_stay() -> None:
    missing = message("fault.missing")
    assert inside("drill", missing.at("[2].id")).place == ("drill[2].id",)
    assert inside("drill", missing).place == ("drill",)
    assert say(missing.at(line(12_345))) == "line 12345: is missing"


@pytest.mark.parametrize("tag", languages())
def test_contract_a_name_that_looks_like_words_or_numbers_stays_as_it_is(tag: str) -> None:
    twice = {"id": "2.1", "position_m": [0, 0], "depth_m": 1.0, "transmitter": None}
    with pytest.raises(BadInput) as caught:
        read_drill(json.dumps({"format": "coldfield-drill/1", "burials": [twice, twice]}), "north.json")
    lines = [say(fault, tag) for fault in caught.value.placed()]
    assert all(one.startswith("north.json: ") for one in lines)
    assert any("burials[1].id" in one and "2.1" in one for one in lines)
