"""The day file: what a phone brings back from the snow, and the prepared run that goes there.

The file is UTF-8 text. Each line is a sum, a space and one JSON object; the sum is the first 16
hexadecimal digits of the SHA-256 of the JSON text's bytes. The first line is the head. The last one
is the end, with the number of lines before it and their SHA-256. A file that was cut short or
edited is therefore noticed, and its intact lines are still read. `docs/day_file.md` explains the
lines.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from hashlib import sha256
from typing import Any

from pydantic import BaseModel, ValidationError

from coldfield.errors import BadInput
from coldfield.files.day_model import (
    FORMAT,
    ITEMS,
    LINES,
    EndLine,
    HeadLine,
    ItemLine,
    PhoneLine,
    RunLine,
)
from coldfield.files.drill_model import Part
from coldfield.files.faults import MOST_LINES as MOST_FAULTS
from coldfield.files.faults import fault_lines
from coldfield.files.json_text import parse_json
from coldfield.files.places import few, line
from coldfield.message import Message, message, size

MOST_BYTES = 4_000_000
MOST_LINES = 20_000
ENDING = ".coldfield-day.txt"
"""The end of a day file's name: phones share text files, and most refuse others."""

_LINE = re.compile(r"([0-9a-f]{16}) (\{.*\})", re.DOTALL)
_VERSION = re.compile(r'"format"\s?:\s?"coldfield-day/(\d{1,6})"')


@dataclass(frozen=True, slots=True, kw_only=True)
class DayFile:
    """What could be read of a day file.

    `items` are in the order of the file, each id once. `faults` has one message for each fault of
    the file; an item on a line with a fault is not among `items`.
    """

    head: HeadLine
    phones: tuple[PhoneLine, ...] = ()
    runs: tuple[RunLine, ...] = ()
    items: tuple[ItemLine, ...] = ()
    faults: tuple[Message, ...] = ()


def is_day_file(data: bytes) -> bool:
    """Return whether a file claims to be a day file of any version."""
    return _VERSION.search(data[:2000].decode("utf-8", "replace")) is not None


def read_day_file(data: bytes, source: str = "day file") -> DayFile:
    """Return the content of a day file, with all its faults.

    Parameters
    ----------
    data : bytes
        The file's content.
    source : str
        The file's name, put before each fault that stops the reading.

    Raises
    ------
    BadInput
        If it is not a day file, is from a newer Coldfield, is larger than `MOST_BYTES`, or has more than
        `MOST_LINES` lines. All other faults are in `DayFile.faults`.
    """
    if len(data) > MOST_BYTES:
        raise BadInput(message("fault.too_large", size=size(len(data)), most=size(MOST_BYTES)), source)
    if not is_day_file(data):
        raise BadInput(message("fault.not_a_day_file"), source)
    version = _VERSION.search(data[:2000].decode("utf-8", "replace"))
    if version and version[1] != FORMAT.rpartition("/")[2]:
        own = FORMAT.rpartition("/")[2]
        raise BadInput(message("fault.newer_day_file", version=version[1], own=own), source)
    # Invalid UTF-8 becomes another character, so that only its line does not match its sum.
    text = data.decode("utf-8-sig", "replace")
    lines = [line.removesuffix("\r") for line in text.split("\n")]
    if lines and lines[-1] == "":
        lines.pop()
    if len(lines) > MOST_LINES:
        raise BadInput(message("fault.too_many_lines", n=len(lines), most=MOST_LINES), source)
    return _Reading().read(lines, source)


@dataclass(slots=True)
class _Reading:
    """The lines read so far from one file."""

    faults: list[Message] = field(default_factory=list)
    heads: list[HeadLine] = field(default_factory=list)
    phones: dict[str, PhoneLine] = field(default_factory=dict)
    runs: dict[str, RunLine] = field(default_factory=dict)
    items: dict[str, ItemLine] = field(default_factory=dict)
    end: EndLine | None = None

    def read(self, lines: list[str], source: str) -> DayFile:
        before = sha256()
        for number, text in enumerate(lines, start=1):
            last = number == len(lines)
            part = self._part(text, number, last=last)
            if isinstance(part, EndLine) and last:
                self.end = part
            elif part is not None:
                self._take(part, number)
            if self.end is None:
                before.update(f"{text}\n".encode())
        self.faults += self._whole(len(lines) - 1, before.hexdigest())
        self.faults += self._gaps()
        if not self.heads:
            raise BadInput(self.faults[:MOST_FAULTS], source)
        return DayFile(
            head=self.heads[0],
            phones=tuple(self.phones.values()),
            runs=tuple(self.runs.values()),
            items=tuple(self.items.values()),
            faults=tuple(few(self.faults, MOST_FAULTS)),
        )

    def _part(self, text: str, number: int, *, last: bool) -> Part | None:
        found = _LINE.fullmatch(text)
        if not found or line_sum(found[2]) != found[1]:
            cut = last and not text.endswith("}")
            why = message("fault.line_cut") if cut else message("fault.line_changed")
            self.faults.append(why.at(line(number)))
            return None
        try:
            raw = parse_json(found[2], "")
        except BadInput as error:
            self.faults += [fault.at(line(number)) for fault in error.faults]
            return None
        model = _model_of(raw)
        if model is None:
            self.faults.append(_unknown_kind(raw).at(line(number)))
            return None
        try:
            part = model.model_validate(raw)
        except ValidationError as error:
            self.faults += [fault.at(line(number)) for fault in fault_lines(error, model)]
            return None
        assert isinstance(part, Part)
        return part

    def _take(self, part: Part, number: int) -> None:
        if isinstance(part, HeadLine):
            self.heads.append(part)
        elif isinstance(part, PhoneLine):
            self.phones.setdefault(part.id, part)
        elif isinstance(part, RunLine):
            self.runs.setdefault(part.id, part)
        elif isinstance(part, ItemLine):
            first = self.items.setdefault(part.id, part)
            if first != part:
                self.faults.append(message("fault.item_twice", id=part.id).at(line(number)))
        else:
            self.faults.append(message("fault.lines_after_end").at(line(number)))

    def _whole(self, before: int, sum_before: str) -> list[Message]:
        if self.end is None:
            return [message("fault.day_file_cut", n=len(self.items))]
        if self.end.lines != before:
            return [message("fault.lines_before_end", n=before, wanted=self.end.lines)]
        if self.end.sha256 != sum_before and not self.faults:
            return [message("fault.lines_exchanged")]
        return []

    def _gaps(self) -> list[Message]:
        numbers: dict[tuple[str, str], set[int]] = {}
        for item in self.items.values():
            numbers.setdefault((item.phone, item.of), set()).add(item.n)
        faults: list[Message] = []
        for (phone, of), there in numbers.items():
            missing = sorted(set(range(1, max(there) + 1)) - there) if max(there) < 10 * MOST_LINES else []
            if missing:
                named = self.phones[phone].name if phone in self.phones else ""
                faults.append(_missing(named or phone, of, missing))
        return faults


def write_day_file(
    *,
    head: HeadLine,
    phones: Iterable[PhoneLine] = (),
    runs: Iterable[RunLine] = (),
    items: Iterable[ItemLine] = (),
) -> bytes:
    """Return a day file; `read_day_file` reads the same lines from it without a fault."""
    lines = [_line(part) for part in (head, *phones, *runs, *items)]
    text = "".join(lines)
    end = EndLine(lines=len(lines), sha256=sha256(text.encode()).hexdigest())
    return (text + _line(end)).encode()


def line_sum(text: str) -> str:
    """Return the sum of one line's JSON text: the first 16 hexadecimal digits of its SHA-256."""
    return sha256(text.encode()).hexdigest()[:16]


def day_schema() -> dict[str, Any]:
    """Return one JSON Schema for every kind of line as it is written, by the name of its form."""
    from pydantic.json_schema import models_json_schema

    forms: list[type[BaseModel]] = [*LINES.values(), *ITEMS.values()]
    _, schema = models_json_schema([(form, "serialization") for form in forms])
    for form in schema["$defs"].values():
        # A written line has every key.
        form["required"] = list(form["properties"])
    kinds = [{"$ref": f"#/$defs/{form.__name__}"} for form in ITEMS.values()]
    return {**schema["$defs"], "Item": {"oneOf": kinds}}


def _line(part: Part) -> str:
    text = json.dumps(part.model_dump(), ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    return f"{line_sum(text)} {text}\n"


def _model_of(raw: Any) -> type[Part] | None:
    if not isinstance(raw, dict):
        return None
    line, kind = raw.get("line"), raw.get("kind")
    if line == "item":
        return ITEMS.get(kind) if isinstance(kind, str) else None
    return LINES.get(line) if isinstance(line, str) else None


def _unknown_kind(raw: Any) -> Message:
    named = (raw.get("kind") or raw.get("line")) if isinstance(raw, dict) else None
    if named is None:
        return message("fault.kind_unnamed")
    return message("fault.kind_unknown", kind=repr(named)[:60])


_MOST_SPANS = 10
"""Most spans of missing items that are named; the others are counted. Setting."""


def _missing(phone: str, run: str, numbers: Sequence[int]) -> Message:
    spans: list[list[int]] = []
    for number in numbers:
        if spans and number == spans[-1][-1] + 1:
            spans[-1][1:] = [number]
        else:
            spans.append([number])
    which = tuple(
        str(span[0]) if len(span) == 1 else message("term.span", first=str(span[0]), last=str(span[1]))
        for span in spans[:_MOST_SPANS]
    )
    more = len(spans) - _MOST_SPANS
    if more > 0:
        return message("fault.items_missing_more", phone=phone, run=run, which=which, n=more)
    return message("fault.items_missing", phone=phone, run=run, which=which)
