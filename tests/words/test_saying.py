"""Messages as text: one table of examples, used here and by the tests of the pages."""

from __future__ import annotations

import json
from pathlib import Path
from typing import get_args

import pytest
from pydantic import TypeAdapter

from coldfield.message import Kind, Message, message
from coldfield.words import languages, say, speaking, spoken, word

TABLE = json.loads((Path(__file__).parents[1] / "data" / "said.json").read_text(encoding="utf-8"))
MESSAGES = TypeAdapter(Message)


def _kinds(told: object) -> set[str]:
    """Return the kinds of quantities in a message, at any depth."""
    if isinstance(told, dict):
        own = {told["kind"]} if "kind" in told else set()
        return own.union(*map(_kinds, told.values()))
    return set().union(*map(_kinds, told)) if isinstance(told, list) else set()


@pytest.mark.parametrize("tag", languages())
def test_contract_examples_are_said_as_the_table_has_them(tag: str) -> None:
    for row in TABLE:
        told = MESSAGES.validate_python(row["message"])
        assert say(told, tag).replace("\u00a0", " ") == row["said"][tag], row["message"]


def test_contract_the_table_has_every_kind_of_quantity_and_every_kind_of_value() -> None:
    assert _kinds([row["message"] for row in TABLE]) == set(get_args(Kind))
    values = [value for row in TABLE for value in row["message"]["values"].values()]
    assert {type(value) for value in values} == {str, int, list, dict}
    assert any(isinstance(value, dict) and "code" in value for value in values)
    assert any(isinstance(part, dict) for row in TABLE for part in row["message"]["place"])
    assert {0, 1, 2} <= {
        row["message"]["values"].get("n") for row in TABLE if "n" in row["message"]["values"]
    }


def test_property_a_message_comes_back_from_json_as_it_was() -> None:
    for row in TABLE:
        told = MESSAGES.validate_python(row["message"])
        assert MESSAGES.validate_json(MESSAGES.dump_json(told)) == told


def test_contract_names_and_ids_are_never_touched() -> None:
    for tag in languages():
        for name in ("2.1", "likely", "north", "{n}", "1234.5", "must be {low}"):
            assert name in say(message("fault.id_twice", id=name).at(name), tag)
            assert say(message("fault.id_twice", id=name).at(name), tag).startswith(f"{name}: ")


def test_contract_a_bare_float_does_not_say_what_it_measures() -> None:
    with pytest.raises(TypeError, match=r"fault\.above: low is a float"):
        message("fault.above", low=1.5)  # type: ignore[arg-type]


def test_contract_what_is_spoken_now_holds_where_no_language_is_named() -> None:
    missing = message("fault.missing")
    assert (say(missing), word("fault.missing")) == ("is missing", "is missing")
    with speaking("de"):
        assert (say(missing), word("fault.missing"), say(missing, "en")) == ("fehlt", "fehlt", "is missing")
        assert spoken({"reasons": [missing], "n": 2}) == {"reasons": ["fehlt"], "n": 2}
    assert say(missing) == "is missing"


def test_contract_a_code_without_words_hides_nothing() -> None:
    assert say(message("fault.not_written_yet", burial="2.1", n=3)) == "fault.not_written_yet burial=2.1, n=3"
