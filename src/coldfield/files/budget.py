"""How much one file, or one archive of files, may hold; counted while it is read, not afterwards."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from coldfield.drill.recorded import MOST_POINTS, MOST_TRACKS
from coldfield.errors import BadInput
from coldfield.message import message

MOST_PARTS = 2_000_000
"""Most elements, rows and messages read from one file or archive: ten for each point. Setting."""


@dataclass(slots=True)
class Budget:
    """How many points, tracks and parts (elements, rows, messages) a file or an archive may still hold.

    `meanwhile` is called from time to time while points are read, and may raise an error to stop reading.
    """

    points: int = MOST_POINTS
    tracks: int = MOST_TRACKS
    parts: int = MOST_PARTS
    meanwhile: Callable[[], object] = lambda: None

    def too_many(self, source: str, *, points: int = 0, tracks: int = 0, parts: int = 0) -> BadInput | None:
        """Return the fault of a file that holds more than is left, or None."""
        self.meanwhile()
        if points > self.points:
            return BadInput(message("fault.too_many_points", n=MOST_POINTS), source)
        if tracks > self.tracks:
            return BadInput(message("fault.too_many_tracks", n=MOST_TRACKS), source)
        if parts > self.parts:
            return BadInput(message("fault.too_many_parts", n=MOST_PARTS), source)
        return None

    def take(self, *, points: int = 0, tracks: int = 0, parts: int = 0) -> None:
        """Subtract what a file held."""
        self.points -= points
        self.tracks -= tracks
        self.parts -= parts
