"""Late arrivals: a save, an upload or a job's result that would bring a forgotten person back."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from sqlalchemy import Connection, select

from coldfield.errors import BadInput, Refused
from coldfield.files.own_words import own_words
from coldfield.files.wording import TextPlace, Wording, texts_of
from coldfield.message import message
from coldfield.records import schema
from coldfield.records.forget.contents import mentions
from coldfield.records.forget.names import Wanted
from coldfield.records.forget.plan import forgotten_ids
from coldfield.records.kind import Kind
from coldfield.records.kinds import PEOPLE

OPTION = "coldfield_forgotten"
"""The option of a writing connection that holds the people forgotten while this process runs."""

MEANWHILE = message("fault.forgotten_meanwhile")

_ASIDE = (Wording.RECORD, Wording.CODE)


def refuse_late(connection: Connection, kind: Kind, record_id: str, fields: Mapping[str, Any]) -> None:
    """Refuse a write that would bring back somebody who was forgotten.

    Removed ids are known for good by their digests. Names are known only to the process that forgot
    them, in memory, and only as long as nobody in the records has such a name.

    Raises
    ------
    Refused
        If the id is one that was forgotten.
    BadInput
        If a text names somebody who was forgotten; with each place.
    """
    if forgotten_ids(connection, kind.name, [record_id]):
        raise Refused(message("fault.id_was_forgotten"))
    for wanted in _forgotten(connection):
        marks = texts_of(kind.form)
        named = [
            path
            for path, text in _texts(fields, "")
            if wanted.named_outright(text)
            and (path not in marks or marks[path].wording not in _ASIDE)
            and not _is_own_code(marks, path)
            and not (kind is PEOPLE and path == PEOPLE.called)
        ]
        if named:
            raise BadInput([message("fault.names_forgotten").at(path) for path in named])


def refuse_late_file(connection: Connection, content: bytes) -> None:
    """Refuse a file that names somebody who was forgotten; see `refuse_late`.

    Raises
    ------
    BadInput
        If it does.
    """
    for wanted in _forgotten(connection):
        if any(one.sure for one in mentions(content, wanted)):
            raise BadInput(message("fault.file_names_forgotten"))


def _forgotten(connection: Connection) -> Iterator[Wanted]:
    """Yield the people forgotten while this process runs whose name nobody in the records has."""
    forgotten = connection.get_execution_options().get(OPTION, ())
    if not forgotten:
        return
    people = connection.execute(select(schema.person.c.name)).scalars().all()
    for wanted in forgotten:
        if not any(wanted.hits(name) for name in people):
            yield wanted


def _is_own_code(marks: Mapping[str, TextPlace], path: str) -> bool:
    column, _, inner = path.partition(".")
    place = marks.get(column)
    return place is not None and place.shape is not None and own_words(place.shape).is_code(inner)


def _texts(value: Any, path: str) -> Iterator[tuple[str, str]]:
    if isinstance(value, Mapping):
        for key, one in value.items():
            yield from _texts(one, f"{path}.{key}" if path else str(key))
    elif isinstance(value, list | tuple):
        for one in value:
            yield from _texts(one, f"{path}[]")
    elif isinstance(value, str):
        yield path, value
