"""What a person does in the app, from a drill to its debrief, as steps for any browser engine.

A step is a list: the action, its target, and arguments. Two small programs run them: `steps_in_puppeteer.mjs`
in Chromium and Firefox, `steps_in_webkit.py` in Safari's engine. `read` stores the result of a script under a
name.
"""

from __future__ import annotations

from typing import Any

Step = list[Any]

BURIAL_A = '[role="button"][aria-label^="Burial A"] rect'
PLACE = """(() => { const box = document.querySelector('[role="button"][aria-label^="Burial A"] rect')
  .getBoundingClientRect(); return [box.x, box.y] })()"""
REPLAY = "Number(document.querySelector('input[type=range]').value)"


def new_drill() -> list[Step]:
    """Create a drill, hide a set, drag it and rehearse."""
    return [
        ["go", "/drills?new="],
        ["type", "What is it called?", "My own drill"],
        ["press", "button", "Begin the drill"],
        ["press", "button", "Put it in the middle"],
        ["see", BURIAL_A],
        ["read", "before", PLACE],
        ["drag", BURIAL_A, 60, -40],
        ["read", "after", PLACE],
        ["press", "a", "Rehearsal"],
        ["press", "button", "Rehearse"],
        ["until", "free, eight of ten:"],
    ]


def hearing() -> list[Step]:
    """Look at who hears what, and drag on the map."""
    drawn = "Number(document.querySelector('canvas[data-drawn]').dataset.drawn)"
    return [
        ["go", "/drills/demo-drill?part=hearing"],
        ["see", "canvas[data-drawn]"],
        ["holds", f"{drawn} > 0"],
        ["read", "first", drawn],
        ["drag", BURIAL_A, 20, 10],
        ["holds", f"{drawn} > 1"],
        ["press", "button", "Undo"],
    ]


def debrief() -> list[Step]:
    """Open the demo's debrief and play it."""
    return [
        ["go", "/runs/demo-run?step=debrief"],
        ["until", "Where did the minutes go?"],
        ["press", "button", "Play again"],
        ["holds", f"{REPLAY} > 2 && {REPLAY} < 600"],
        ["read", "replayed", REPLAY],
    ]


FLOWS = {"new drill": new_drill, "hearing": hearing, "debrief": debrief}
