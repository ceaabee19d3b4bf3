"""XML of unknown origin, read element by element; only what the reader needs is kept.

The parser is expat, with the refusals of defusedxml and limits on everything that a file could make it hold:
depth, elements, their names, and the length of one tag or one text.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NoReturn
from xml.parsers import expat

from defusedxml import EntitiesForbidden

from coldfield.errors import BadInput
from coldfield.files.places import line
from coldfield.message import message, verbatim

MOST_DEPTH = 200
MOST_NAMES = 10_000
"""Most different names of elements and attributes. Setting."""

MOST_TAG_BYTES = 1_000_000
"""The longest tag or comment. Setting."""

MOST_TEXT = 1000
"""Characters kept of one text; a name or a time is shorter. Setting."""

_PIECE = 1 << 16


class XmlEvents:
    """Parses a file and calls `start` and `end` for its elements.

    Parameters
    ----------
    source : str
        The file's name, for faults.
    start : callable
        Called with the local name of an element, its attributes, and the local names of its ancestors from
        the outermost. Returns whether its text is wanted.
    end : callable
        Called with the local name of an element and its text: '' if it is not wanted, or if there is another
        element inside it.
    most_elements : int
        More are refused.
    """

    def __init__(
        self,
        source: str,
        start: Callable[[str, dict[str, str], list[str]], bool],
        end: Callable[[str, str], None],
        *,
        most_elements: int,
    ) -> None:
        self.source = source
        self.elements = 0
        self._told_start, self._told_end = start, end
        self._most_elements = most_elements
        self._path: list[str] = []
        self._text: list[str] = []
        self._kept = 0
        self._reading = False
        self._names: dict[str, str] = {}

    @property
    def line(self) -> int:
        """The line of the file at which the parser is."""
        return self._parser.CurrentLineNumber

    def read(self, data: bytes) -> None:
        """Read a whole file.

        Raises
        ------
        BadInput
            If it is not XML, declares entities or other rules of its own, or exceeds the limits.
        """
        self._parser = parser = expat.ParserCreate(intern=self._names)
        parser.buffer_text = True
        parser.StartElementHandler = self._start
        parser.EndElementHandler = self._end
        parser.StartDoctypeDeclHandler = self._doctype
        parser.EntityDeclHandler = self._forbidden
        parser.UnparsedEntityDeclHandler = self._forbidden
        parser.ExternalEntityRefHandler = self._forbidden
        try:
            self._parse(data)
        except EntitiesForbidden:
            raise BadInput(message("fault.xml_entities"), self.source) from None
        except expat.ExpatError as error:
            why = verbatim(expat.ErrorString(error.code))
            raise BadInput(message("fault.not_xml", why=why).at(line(error.lineno)), self.source) from None
        except (ValueError, LookupError) as error:
            why = verbatim(str(error)[:80])
            raise BadInput(message("fault.xml_unreadable", why=why), self.source) from None

    def _parse(self, data: bytes) -> None:
        for start in range(0, max(len(data), 1), _PIECE):
            end = min(start + _PIECE, len(data))
            self._parser.Parse(data[start:end], end == len(data))
            # What expat has not reported yet is a single tag or comment that it holds.
            if end - self._parser.CurrentByteIndex > MOST_TAG_BYTES:
                raise BadInput(message("fault.xml_tag", n=MOST_TAG_BYTES).at(line(self.line)), self.source)
            if len(self._names) > MOST_NAMES:
                raise BadInput(message("fault.xml_names", n=MOST_NAMES), self.source)

    def _doctype(self, _name: str, _system: str | None, _public: str | None, inside: bool) -> None:
        if inside:
            self._forbidden("doctype")

    def _forbidden(self, *what: object) -> NoReturn:
        raise EntitiesForbidden(str(what[0]), None, None, None, None, None)

    def _start(self, name: str, attrs: dict[str, str]) -> None:
        local = name.rpartition(":")[2] if ":" in name else name
        if self._reading:  # an element inside a text: GPX has none
            self._read(False)
        self.elements += 1
        if self.elements > self._most_elements:
            raise BadInput(message("fault.too_many_parts", n=self._most_elements), self.source)
        if self._told_start(local, attrs, self._path):
            self._read(True)
        self._path.append(local)
        if len(self._path) > MOST_DEPTH:
            raise BadInput(message("fault.xml_depth", n=MOST_DEPTH), self.source)

    def _read(self, on: bool) -> None:
        self._text.clear()
        self._kept = 0
        self._reading = on
        self._parser.CharacterDataHandler = self._keep if on else None

    def _keep(self, text: str) -> None:
        if self._kept < MOST_TEXT:
            self._text.append(text[: MOST_TEXT - self._kept])
            self._kept += len(text)

    def _end(self, _name: str) -> None:
        local = self._path.pop()
        text = ""
        if self._reading:
            text = "".join(self._text).strip()
            self._read(False)
        self._told_end(local, text)
