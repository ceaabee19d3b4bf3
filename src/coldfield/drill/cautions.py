"""What a person must hear before, during and after a practice search; shown where the risk is met.

Common practice of the trade, no single source. Local rules and a qualified leader decide.
"""

from __future__ import annotations

GROUND = (
    "Practise only where no avalanche can reach you; the gear is in use, not worn. "
    "The local bulletin, local rules and a qualified leader decide.",
    "Tell the rescue service and the neighbours on the field. Agree the word for a real emergency, "
    "the meeting point, the first aid kit, the phone coverage and who is missing from the count.",
    "Sets of other groups near by are heard here too: speak with them.",
)
HIDING = (
    "Never bury a person. Bury stuffed sacks, with probe-proof padding round the set.",
    "One named person keeps the list of hidden sets and stays until all are back.",
    "See that each set transmits before it is hidden.",
)
RUNNING = (
    "A phone or watch that records a track disturbs the set: flight mode, in the lid of the pack or "
    "on the arm away from the set, at least 50 cm from any searching set, untouched during the run. "
    "Phones that keep the clock stand 5 m off.",
    "A searcher's set can fall back to transmit while its owner digs; a stray transmitting set is "
    "the biggest trouble in a real search.",
    "Digging can hurt the buried person and the diggers: keep shovel distance, the last part by "
    "hand, airway first.",
    "Technique first: timed runs too early teach shortcuts.",
)
ENDING = ("All sets counted, pits filled, everyone back to transmit, a full check before moving on.",)
LIMITS = (
    "For training and planning. In a real accident call the rescue service and use your training, not this.",
    "Medical decisions follow current guidelines and trained people; no figure here is a clinical cut-off.",
)
ALL = GROUND + HIDING + RUNNING + ENDING + LIMITS
