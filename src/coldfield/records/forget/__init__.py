"""Forget a person: out of every table, every document, every file; say what was done.

What other people's records need stays, without the person: a group's run keeps its splits, its drill a
searcher without that name. What a text is follows from the forms (`files/wording.py`).
"""

from coldfield.records.forget.copies import holds_person, others_in
from coldfield.records.forget.look import look_through
from coldfield.records.forget.names import INSTEAD, Wanted
from coldfield.records.forget.plan import (
    SERVERS_OWN,
    STILL_READ,
    Forgotten,
    Plan,
    carry_out,
    forgotten_ids,
)

__all__ = [
    "INSTEAD",
    "SERVERS_OWN",
    "STILL_READ",
    "Forgotten",
    "Plan",
    "Wanted",
    "carry_out",
    "forgotten_ids",
    "holds_person",
    "look_through",
    "others_in",
]
