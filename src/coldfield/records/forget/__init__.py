"""Forget a person: remove them from every table, document and file, and report what was done.

What other people's records need stays, without the person: a group's run keeps its splits, and its drill
keeps a searcher without that name. The forms say what each text is (`files/wording.py`).
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
