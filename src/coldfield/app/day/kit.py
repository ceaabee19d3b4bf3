"""Note in the kit list what a group check found about a set."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from sqlalchemy import select

from coldfield.app.day.records import moment
from coldfield.message import Message, length, message, share
from coldfield.records import schema
from coldfield.records.checking import read_form
from coldfield.records.forms import MOST_PROSE
from coldfield.records.kinds import KINDS
from coldfield.records.store import Store
from coldfield.words import say


def to_kit(store: Store, checked: Sequence[Mapping[str, Any]], language: str | None = None) -> None:
    """Add a note to each set that should be looked at, with the day and the person who found it.

    A set in use gets the state 'to check'.
    """
    kit = schema.kit
    for one in checked:
        if not one["look_at"] or one["set"] is None:
            continue
        query = select(kit.c.id).where(
            kit.c.label == one["set"], kit.c.kind == "set", kit.c.deletion_id.is_(None)
        )
        for kit_id in store.connection.execute(query).scalars().all():
            piece = store.get("kit", kit_id)
            there = piece["notes"].splitlines()
            lines = [say(found, language) for found in look_at_lines(one)]
            notes = "\n".join([*there, *(line for line in lines if line not in there)])
            if notes == piece["notes"] or len(notes) > MOST_PROSE:
                continue
            state = "to check" if piece["state"] == "in use" else piece["state"]
            told = {key: piece[key] for key in KINDS["kit"].form.model_fields}
            told |= {"notes": notes, "state": state}
            store.put("kit", kit_id, read_form("kit", told).fields(), based_on=piece["version"])


def look_at_lines(one: Mapping[str, Any]) -> list[Message]:
    """Return one message for each thing that should be looked at."""
    day = moment(round(one["time_unix_s"] * 1000))[:10]
    when = f"{day}, {one['by']}" if one["by"] else day
    return [_LOOK_AT[what](one, when) for what in one["look_at"]]


_LOOK_AT: dict[str, Callable[[Mapping[str, Any], str], Message]] = {
    "battery": lambda one, when: message(
        "look_at.battery", share=share(one["battery_percent"] / 100), when=when
    ),
    "reading": lambda one, when: message("look_at.reading", reading=length(one["reading_m"]), when=when),
    "errors": lambda _, when: message("look_at.errors", when=when),
    "receives": lambda _, when: message("look_at.receives", when=when),
    "transmits": lambda _, when: message("look_at.transmits", when=when),
}
"""The text for each kind of finding of a group check."""
