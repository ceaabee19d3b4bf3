"""Writing and reading CSV: no cell becomes a formula, and no file is parsed without counting it."""

from __future__ import annotations

import codecs
import csv
import io
import re
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from coldfield.errors import BadInput
from coldfield.files.places import line
from coldfield.message import message, size, verbatim

MOST_LINE = 10_000
"""The longest line that is read, in characters. Setting."""

MOST_COLUMNS = 100
"""Setting."""

_PIECE = 1 << 20
_FIRST = re.compile(r"[\s'\"\x00-\x20\u200b-\u200f\u2060\ufeff]*")
_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?\s*", re.ASCII)
_BEGINS_FORMULA = frozenset("=+-@\uff1d\uff0b\uff0d\uff20")
"""Including the full-width forms that some spreadsheets treat the same."""


def guarded(text: str) -> str:
    """Return the text of a cell in a form that no spreadsheet treats as a formula.

    A text that starts like a formula, even after spaces and quotes or with a tab or line break, gets an
    apostrophe in front. Numbers stay numbers. `unguarded` restores the text.

    Examples
    --------
    >>> [guarded(text) for text in ("=1+1", " @sum", "-4.5", "left-over", "'=1")]
    ["'=1+1", "' @sum", '-4.5', 'left-over', "''=1"]
    """
    return f"'{text}" if _is_formula(text) else text


def unguarded(text: str) -> str:
    """Return the text of a cell that `guarded` wrote."""
    return text[1:] if text.startswith("'") and _is_formula(text[1:]) else text


def _is_formula(text: str) -> bool:
    # Leading apostrophes do not count, so that one more or less never changes the answer.
    before = _FIRST.match(text)
    skipped = before.end() if before else 0
    rest = text[skipped:]
    if any(sign in text[:skipped] for sign in "\t\r\n"):
        return True
    return bool(rest) and rest[0] in _BEGINS_FORMULA and not _NUMBER.fullmatch(rest)


def csv_text(rows: Iterable[Sequence[Any]]) -> str:
    """Return rows as CSV: commas, a line feed after each row, numbers plain, None empty, text guarded."""
    lines = []
    for row in rows:
        out = io.StringIO()
        # The writer quotes every character of its line ending, so also a lone carriage return.
        cells = [guarded(cell) if isinstance(cell, str) else cell for cell in row]
        csv.writer(out, lineterminator="\r\n").writerow(cells)
        lines.append(out.getvalue()[:-2] + "\n")
    return "".join(lines)


def csv_rows(
    lines: Iterable[str], source: str, *, delimiter: str, most_rows: int
) -> Iterator[tuple[int, list[str]]]:
    """Yield (line, cells) of each row as it is read; empty rows are skipped.

    Raises
    ------
    BadInput
        If it is not CSV, if a line is too long, if a row has more than 100 cells, or if there are
        more than `most_rows` rows, including empty ones.
    """
    bounded = _bounded(lines, source, delimiter)
    reader = csv.reader(bounded, delimiter=delimiter, strict=True)
    count = 0
    while True:
        number = reader.line_num + 1
        try:
            cells = next(reader, None)
        except csv.Error as error:
            raise BadInput(message("fault.not_csv", why=verbatim(str(error))), source) from None
        if cells is None:
            return
        count += 1
        if count > most_rows:
            raise BadInput(message("fault.too_many_rows", n=most_rows), source)
        if any(cells) and any(cell.strip() for cell in cells):
            yield number, cells


def _bounded(lines: Iterable[str], source: str, delimiter: str) -> Iterator[str]:
    for number, text in enumerate(lines, start=1):
        if len(text) > MOST_LINE:
            raise BadInput(message("fault.too_long", n=MOST_LINE).at(line(number)), source)
        # Delimiters within quotes count too; our own rows are far below the limit.
        if text.count(delimiter) >= MOST_COLUMNS and len(text) < 3 * text.count(delimiter):
            raise BadInput(message("fault.too_many_cells", n=MOST_COLUMNS).at(line(number)), source)
        yield text


def text_lines(data: bytes, source: str, *, most_bytes: int) -> Iterator[str]:
    """Yield the lines of UTF-8 text, with or without a byte order mark, without decoding all of it at once.

    A line longer than `MOST_LINE` is cut to one character more than that.

    Raises
    ------
    BadInput
        If the file is empty, larger than `most_bytes` or not UTF-8.
    """
    if len(data) > most_bytes:
        raise BadInput(message("fault.too_large", size=size(len(data)), most=size(most_bytes)), source)
    refuse_other_than_utf8(data, source)
    if (
        not data[:_PIECE].removeprefix(codecs.BOM_UTF8).strip()
        and not data.removeprefix(codecs.BOM_UTF8).strip()
    ):
        raise BadInput(message("fault.empty"), source)
    text = io.TextIOWrapper(io.BytesIO(data), encoding="utf-8-sig", newline="")
    return iter(lambda: text.readline(MOST_LINE + 1), "")


def refuse_other_than_utf8(data: bytes, source: str) -> None:
    """Raise `BadInput` with the first byte that is not UTF-8."""
    decoder = codecs.getincrementaldecoder("utf-8")()
    for start in range(0, len(data), _PIECE):
        piece = data[start : start + _PIECE]
        held = len(decoder.getstate()[0])
        try:
            decoder.decode(piece, final=start + _PIECE >= len(data))
        except UnicodeDecodeError as error:
            byte = str(start - held + error.start)
            raise BadInput(message("fault.not_utf8", byte=byte), source) from None
