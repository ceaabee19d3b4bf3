"""Guess whose each file is: by its name, by the names of its tracks, else by elimination."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from coldfield.drill.recorded import Recorded


@dataclass(frozen=True, slots=True, kw_only=True)
class FileOwner:
    """The owner of a file: `searcher` of all of it, or `parts`, one for each of its tracks (None: nobody).

    `matched` says how the owner is known: 'told', 'file name', 'track name', 'left over', or None if unknown.
    """

    searcher: str | None = None
    parts: tuple[str | None, ...] = ()
    matched: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Dropped:
    """A file without an owner yet.

    `inside` has the names of its tracks. `shareable` means that it may go to a remaining person: it contains
    tracks, of one person at a time. `known` is the owner if known already.
    """

    file: str
    inside: tuple[str, ...] = ()
    shareable: bool = False
    known: FileOwner | None = None

    @classmethod
    def of(cls, file: str, tracks: Sequence[Recorded]) -> Dropped:
        """Return a file of unknown owner from the tracks read from it."""
        names = tuple(track.name for track in tracks)
        return cls(file=file, inside=names, shareable=bool(tracks) and not at_once(tracks))


def guess_owners(files: Sequence[Dropped], searchers: Mapping[str, Sequence[str]]) -> list[FileOwner]:
    """Return whose each file is, in the order given.

    Parameters
    ----------
    files : sequence of Dropped
        All files of a run; entered owners stay.
    searchers : mapping
        Searcher id -> other names, in the drill's order. Case is ignored.

    Notes
    -----
    Names decide first, whatever the order of the files. The remaining people then get the remaining files in
    order, and these guesses are marked. A file with two people at once, or without a readable track, is never
    assigned in this way.
    """
    by_name = {name.strip().casefold(): who for who, names in searchers.items() for name in names}
    by_name |= {who.casefold(): who for who in searchers}
    found = [one.known or _by_names(one, by_name) for one in files]
    taken = {who for whose in found for who in (whose.searcher, *whose.parts)}
    left = [who for who in searchers if who not in taken]
    for index, (one, whose) in enumerate(zip(files, found, strict=True)):
        if whose.matched is None and left and one.shareable:
            found[index] = FileOwner(searcher=left.pop(0), matched="left over")
    return found


def _by_names(one: Dropped, known: Mapping[str, str]) -> FileOwner:
    stem = (one.file.rpartition(".")[0] or one.file).strip().casefold()
    inside = [known.get(name.strip().casefold()) for name in one.inside]
    if len(set(inside)) > 1 and None not in inside:
        return FileOwner(parts=tuple(inside), matched="track name")
    if stem in known:
        return FileOwner(searcher=known[stem], matched="file name")
    if inside and len(set(inside)) == 1 and inside[0] is not None:
        return FileOwner(searcher=inside[0], matched="track name")
    if any(inside):
        return FileOwner(parts=tuple(inside), matched="track name")
    return FileOwner()


def at_once(tracks: Sequence[Recorded]) -> bool:
    """Return whether two tracks of a file overlap in time: two people, or one person twice."""
    spans = []
    for track in tracks:
        times = track.unix_s[np.isfinite(track.unix_s)]
        if times.size:
            spans.append((float(times.min()), float(times.max())))
    return any(later[0] < earlier[1] for earlier, later in pairwise(sorted(spans)))
