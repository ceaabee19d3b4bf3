"""Texts prepared for finding names: lower case, no accents, escapes resolved; and the way back."""

from __future__ import annotations

import html
import re
import unicodedata
from bisect import bisect_right
from dataclasses import dataclass, field

_SPECIAL = re.compile(
    r"&(?:#\d{1,7}|#[xX][0-9a-fA-F]{1,6}|[A-Za-z]{2,8});|(?:%[0-9a-fA-F]{2})+|\\u[0-9a-fA-F]{4}|[^\x00-\x7f]"
)
"""Whatever needs translating: escapes of XML and JSON, percent escapes of addresses, all beyond ASCII."""

_WITHOUT_PARTS = str.maketrans("\u00f8\u0142\u0111\u0131", "oldi")
"""Letters with a stroke or without a dot, which Unicode does not decompose."""


@dataclass(slots=True)
class Folded:
    """A folded text that knows the origin of each of its letters."""

    text: str
    starts: list[int] = field(default_factory=list)
    sources: list[tuple[int, int, bool]] = field(default_factory=list)
    """For each piece: its start and end in the source, and whether letters map one to one."""

    def span(self, start: int, end: int) -> tuple[int, int]:
        """Return where a stretch of the folded text is in the source, including accents that follow."""
        if not self.starts:
            return start, end
        first, last = self._piece(start), self._piece(end - 1)
        begin, _, linear = self.sources[first]
        source_start = begin + (start - self.starts[first] if linear else 0)
        begin, source_end, linear = self.sources[last]
        if linear:
            here = begin + (end - self.starts[last])
            if here < source_end:
                return source_start, here
        return source_start, self._with_accents(last, source_end)

    def _piece(self, at: int) -> int:
        return bisect_right(self.starts, at) - 1

    def _with_accents(self, piece: int, end: int) -> int:
        """Return the end moved past marks that belong to the letter before them."""
        for following in range(piece + 1, len(self.starts)):
            begin, stop, _ = self.sources[following]
            after = self.starts[following + 1] if following + 1 < len(self.starts) else len(self.text)
            if begin != end or after > self.starts[following]:
                break
            end = stop
        return end


def fold(text: str) -> Folded:
    """Return a text in lower case without accents, with escapes resolved.

    Examples
    --------
    >>> fold("J&#252;rg, E\u0301cole").text
    'jurg, ecole'
    """
    if text.isascii() and not any(sign in text for sign in ("&", "%", "\\u")):
        return Folded(text.lower())
    folded = Folded("")
    pieces: list[str] = []
    length = at = 0

    def add(piece: str, start: int, end: int, *, linear: bool) -> None:
        nonlocal length
        pieces.append(piece)
        folded.starts.append(length)
        folded.sources.append((start, end, linear))
        length += len(piece)

    for found in _SPECIAL.finditer(text):
        if found.start() > at:
            add(text[at : found.start()].lower(), at, found.start(), linear=True)
        add(_letters(plain(found[0])), found.start(), found.end(), linear=False)
        at = found.end()
    if at < len(text):
        add(text[at:].lower(), at, len(text), linear=True)
    folded.text = "".join(pieces)
    return folded


def plain(text: str) -> str:
    """Return a text with its escapes resolved."""
    return _SPECIAL.sub(_resolved, text)


def _resolved(found: re.Match[str]) -> str:
    token = found[0]
    if token[0] == "&":
        return html.unescape(token)
    if token[0] == "%":
        try:
            return bytes.fromhex(token.replace("%", "")).decode()
        except UnicodeDecodeError:
            return token
    return chr(int(token[2:], 16)) if token[0] == "\\" else token


def _letters(text: str) -> str:
    """Return letters without accents; accents and invisible signs are dropped."""
    parts = unicodedata.normalize("NFKD", text)
    kept = "".join(one for one in parts if unicodedata.category(one) not in ("Mn", "Cf"))
    return kept.casefold().translate(_WITHOUT_PARTS)


def with_accents(text: str) -> str:
    """Return only the letters and digits of a text, in lower case, composed, with accents."""
    composed = unicodedata.normalize("NFC", plain(text)).casefold()
    return "".join(re.findall(r"[^\W_]+", unicodedata.normalize("NFC", composed)))
