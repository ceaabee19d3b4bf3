"""What a person must know before, during and after a practice search; shown where the risk arises.

Common practice of the trade, no single source. Local rules and a qualified leader decide.
"""

from __future__ import annotations

from coldfield.message import message

GROUND = (message("caution.ground"), message("caution.tell_others"), message("caution.other_groups"))
HIDING = (
    message("caution.never_a_person"),
    message("caution.one_named_person"),
    message("caution.set_transmits"),
)
RUNNING = (
    message("caution.recording_phones"),
    message("caution.falls_back"),
    message("caution.digging_hurts"),
    message("caution.technique_first"),
)
ENDING = (message("caution.at_the_end"),)
LIMITS = (message("caution.for_training"), message("caution.medical"))
ALL = GROUND + HIDING + RUNNING + ENDING + LIMITS
