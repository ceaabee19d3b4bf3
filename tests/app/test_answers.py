"""Answers become the same JSON for commands and for the service."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Annotated

from fastapi import FastAPI
from fastapi.testclient import TestClient

from coldfield.app.answers import IF_ASKED, json_text, plain
from coldfield.message import Message, message, number
from coldfield.words import speaking


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """A part of an answer."""

    at_m: tuple[float, float]
    chance: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Whole:
    """An answer with a part that only some ask for."""

    name: str
    parts: tuple[Part, ...]
    shares: dict[str, float]
    more: Annotated[Part | None, IF_ASKED] = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Noted:
    """An answer with messages."""

    notes: tuple[Message, ...]
    part: Part
    more: Annotated[Part | None, IF_ASKED] = None


PART = Part(at_m=(1.0, 2.5), chance=float("nan"))
WHOLE = Whole(name="Grön", parts=(PART,), shares={"A": float("inf")})
AS_JSON = {"name": "Grön", "parts": [{"at_m": [1.0, 2.5], "chance": None}], "shares": {"A": None}}


def test_contract_answers_become_plain_values_without_what_nobody_asked_for() -> None:
    assert plain(WHOLE) == AS_JSON
    asked = Whole(name="B", parts=(), shares={}, more=Part(at_m=(0.0, 0.0), chance=None))
    assert plain([asked])[0]["more"] == {"at_m": [0.0, 0.0], "chance": None}


def test_contract_text_is_one_line_of_ascii() -> None:
    text = json_text(WHOLE)
    assert text.isascii()
    assert "\n" not in text
    assert json.loads(text) == AS_JSON


def test_contract_commands_print_words_where_the_service_gives_messages() -> None:
    noted = Noted(notes=(message("fault.at_most", high=number(3.0)),), part=PART)
    assert json.loads(json_text(noted)) == {
        "notes": ["must be at most 3"],
        "part": {"at_m": [1.0, 2.5], "chance": None},
    }
    with speaking("de"):
        assert json.loads(json_text(noted))["notes"] == ["muss höchstens 3 sein"]
    assert plain(noted)["notes"][0]["code"] == "fault.at_most"


def test_contract_a_route_that_names_the_answer_gives_the_same_json_and_describes_it() -> None:
    app = FastAPI(separate_input_output_schemas=False)

    @app.get("/whole")
    def whole() -> Whole:
        return WHOLE

    client = TestClient(app)
    assert client.get("/whole").json() == AS_JSON
    schema = client.get("/openapi.json").json()["components"]["schemas"]["Whole"]
    assert schema["required"] == ["name", "parts", "shares"]
    assert set(schema["properties"]) == {"name", "parts", "shares", "more"}
