"""Assign tracks to people: as entered, else by the name of the file, else by that of the track."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from coldfield.drill.recorded import Recorded
from coldfield.drill.searcher import Searcher
from coldfield.message import Message, message


def tracks_by_person(
    recorded: Sequence[Recorded], searchers: Sequence[Searcher]
) -> tuple[dict[str, list[Recorded]], list[Message]]:
    """Return searcher id -> recordings, in the drill's order, and one message per fault.

    Parameters
    ----------
    recorded : sequence of Recorded
        In the order given; a file may hold several tracks.
    searchers : sequence of Searcher
        The searchers of the drill. Case is ignored.

    Notes
    -----
    An entered person comes before any name. The name of the file without its extension comes before that of
    the track, and must be a searcher's id or name. If every track in the file has the name of another
    searcher, the names of the tracks count. If two files of one person overlap in time, the first is used.
    """
    ids = {s.id.casefold(): s.id for s in searchers}
    names = {s.name.casefold(): s.id for s in searchers if s.name.casefold() not in ids}
    known = names | ids
    by_file: dict[str, list[Recorded]] = {}
    for one in recorded:
        by_file.setdefault(one.file, []).append(one)
    found: dict[str, list[Recorded]] = {s.id: [] for s in searchers}
    faults: list[Message] = []
    for file, tracks in by_file.items():
        faults += [
            message("fault.not_in_drill", name=track.searcher).at(file)
            for track in tracks
            if track.searcher is not None and track.searcher not in found
        ]
        tracks = [track for track in tracks if track.searcher is None or track.searcher in found]
        if not tracks:
            continue
        owner = known.get(_stem(file))
        by_name = [known.get(track.name.strip().casefold()) for track in tracks]
        if owner is not None and len(set(by_name)) > 1 and None not in by_name:
            owner = None
        whose = [track.searcher or owner or who for track, who in zip(tracks, by_name, strict=True)]
        if not any(whose):
            faults.append(_nobody(file, tracks, searchers))
            continue
        for track, who in zip(tracks, whose, strict=True):
            if who is None:
                faults.append(message("fault.track_of_nobody", track=track.name).at(file))
            elif clash := _clash(track, found[who]):
                faults.append(message("fault.second_recording", who=who, other=clash).at(file))
            else:
                found[who].append(track)
    return {who: tracks for who, tracks in found.items() if tracks}, faults


def _stem(file: str) -> str:
    name = file.replace("\\", "/").rpartition("/")[2]
    return (name.rpartition(".")[0] or name).strip().casefold()


def _nobody(file: str, tracks: Sequence[Recorded], searchers: Sequence[Searcher]) -> Message:
    known = tuple(message("term.id_and_name", id=s.id, name=s.name) for s in searchers[:8])
    known = known or (message("term.nobody"),)
    inside = tuple(message("term.quoted", text=track.name) for track in tracks[:4] if track.name)
    if inside:
        return message("fault.nobodys_names", tracks=inside, known=known).at(file)
    return message("fault.nobodys_name", known=known).at(file)


def _clash(track: Recorded, others: Sequence[Recorded]) -> str | None:
    """Return the other file that overlaps in time; tracks within one file are checked when cleaned."""
    mine = track.unix_s[np.isfinite(track.unix_s)]
    for other in others:
        theirs = other.unix_s[np.isfinite(other.unix_s)]
        if other.file == track.file or not mine.size or not theirs.size:
            continue
        if mine.min() < theirs.max() and theirs.min() < mine.max():
            return other.file
    return None
