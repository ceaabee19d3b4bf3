"""The JSON of a debrief to its document and back; parts missing in earlier versions are filled in."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from functools import cache
from typing import Any

from pydantic import TypeAdapter, ValidationError
from pydantic_core import from_json

from coldfield.debrief.clocks.run_splits import TimedSplit
from coldfield.debrief.document import DebriefDocument, DebriefedBurial, DebriefedSearcher
from coldfield.debrief.findings.finding import Finding
from coldfield.debrief.written import MadeBy
from coldfield.errors import BadInput
from coldfield.files.faults import fault_lines
from coldfield.files.observed import observed, read_observed
from coldfield.message import VERBATIM, Message, message


def read_debrief(raw: Mapping[str, Any], source: str = "debrief") -> DebriefDocument:
    """Return the document of a debrief from its parsed JSON, as stored in the records.

    Unknown keys are left out.

    Raises
    ------
    BadInput
        With one line per part that has the wrong type, each with its path.
    """
    try:
        document: DebriefDocument = _adapter(DebriefDocument).validate_python(raw)
    except ValidationError as error:
        raise BadInput(fault_lines(error, DebriefDocument), source) from None
    faults = [*_twice("searchers", document.searchers), *_twice("burials", document.burials)]
    faults += _uneven(document)
    if faults:
        raise BadInput(faults, source)
    return replace(
        document,
        findings=tuple(_by_code(one) for one in document.findings),
        splits=tuple(_said(one) for one in document.splits),
    )


def debrief_value(document: DebriefDocument) -> dict[str, Any]:
    """Return a debrief as plain values for JSON; `read_debrief` returns an equal one from them."""
    value: dict[str, Any] = from_json(_adapter(DebriefDocument).dump_json(document))
    return value


def check_made_by(raw: Mapping[str, Any]) -> None:
    """Raise an error for information about the making of a debrief that has the wrong type.

    Raises
    ------
    BadInput
        With one line per fault.
    """
    try:
        _adapter(MadeBy).validate_python(raw)
    except ValidationError as error:
        raise BadInput(fault_lines(error, MadeBy), "made_by") from None


def _said(split: TimedSplit) -> TimedSplit:
    """An observation with its content, even if an earlier version kept only its words."""
    if split.split != "observation" or split.said is not None:
        return split
    return replace(split, said=observed(*read_observed(split.note)))


def _by_code(finding: Finding) -> Finding:
    """Give an observation in words, as in debriefs of earlier versions, its code."""
    if finding.kind != "observation" or finding.text.code != VERBATIM:
        return finding
    return replace(finding, text=observed(*read_observed(str(finding.text.values["text"]))))


def _twice(where: str, parts: Sequence[DebriefedSearcher | DebriefedBurial]) -> Iterator[Message]:
    ids = [one.id for one in parts]
    for i, one in enumerate(ids):
        if one in ids[:i]:
            yield message("fault.id_twice", id=one[:40]).at(f"{where}[{i}].id")


def _uneven(document: DebriefDocument) -> Iterator[Message]:
    """Lists that belong together but differ in length."""
    for i, person in enumerate(document.searchers):
        for k, piece in enumerate(person.track.pieces if person.track is not None else ()):
            if len(piece.t_s) != len(piece.position_m):
                yield message("fault.times_and_positions").at(f"searchers[{i}].track.pieces[{k}]")
        for k, shown in enumerate(person.readings):
            if len(shown.t_s) != len(shown.reading_m):
                yield message("fault.times_and_readings").at(f"searchers[{i}].readings[{k}]")


@cache
def _adapter(kind: Any) -> TypeAdapter[Any]:
    return TypeAdapter(kind)
