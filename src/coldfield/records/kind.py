"""A kind of record, whole: its table and form, what it refers to, and everything that is peculiar to it.

What is the same for all kinds (routes, lists, search, deletion, export, import, tables as CSV, forgetting a
person) is worked out from this; a kind says here what is its own, and nobody else asks which kind it is.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Literal, TypeVar

from sqlalchemy import Column, ColumnElement, Connection, Table

from coldfield.errors import BadInput
from coldfield.files.wording import TextPlace
from coldfield.message import Message, message
from coldfield.records.forms import Form

if TYPE_CHECKING:
    from coldfield.files.records_zip import ArchiveReader

Record = dict[str, Any]
"""One record: id, version, created_utc, changed_utc, deletion_id and the fields of its form."""

Beside = Mapping[str, Any]
"""What an archive tells of a record beyond the fields of its form, such as the name of its file."""

Made = TypeVar("Made")


@dataclass(frozen=True, slots=True)
class KeptFile:
    """Where the files of a kind are kept as they came: one to each record.

    `table` has the bytes in `content`, `column` names the record; `most_bytes` is the largest.
    The form of such a kind has `file_name`, `size_bytes` and `sha256`.
    """

    table: Table
    column: str
    most_bytes: int


@dataclass(frozen=True, slots=True)
class ListedField:
    """A field that the lists of one kind show and another kind tells, such as when a drill was last run."""

    name: str
    type: Any
    value: ColumnElement[Any]


class Arriving:
    """An archive on its way in, as its kinds see it.

    Parameters
    ----------
    connection : Connection
        The records it goes into.
    reader : ArchiveReader
        The archive.
    """

    def __init__(self, connection: Connection, reader: ArchiveReader) -> None:
        self.connection, self.reader = connection, reader
        self._noted: dict[Callable[[], Any], Any] = {}

    def noted(self, make: Callable[[], Made]) -> Made:
        """Return what a kind takes note of while this archive comes in, made where there is none yet."""
        if make not in self._noted:
            self._noted[make] = make()
        found: Made = self._noted[make]
        return found


@dataclass(frozen=True, kw_only=True, eq=False)
class Kind:
    """One kind of record; a kind that needs more than these fields overrides the methods below.

    Parameters
    ----------
    name : str
        What its routes and members are called.
    one, many : Message
        What one of them, and several, are called where a person reads it.
    table : Table
        Its table, made by `record_table`.
    form : type of Form
        What people fill in.
    sort : str
        The column of its lists.
    descending : bool
        The last one first.
    called : str
        The column that a person knows a record by, '' without any.
    refers : mapping of str to str
        The kind each reference points to, by its place: ``owner_id``, ``searchers[].person_id``.
    belongs : tuple of str
        The references to what it is a part of: it is deleted and brought back with that.
    goes_with : str
        The reference along which it is handed on with a drill, '' where it stays here.
    personal : bool
        It is somebody's own, so it goes when they are forgotten; without, their name is taken out.
        What cannot be without the person goes in any case.
    made_from : str
        The reference to what it was worked out from: it goes where that held somebody who is forgotten.
    by_hand : bool
        People fill it in; otherwise it comes with a file of its own door, or out of a computation.
    counted : bool
        The first page says how many there are.
    pages : str
        Which pages the app has: 'none', 'list', or 'list and each'.
    from_the_first : bool
        Every archive has it; of the others, those made by an earlier Coldfield do not.
    heavy : tuple of str
        The fields left out of lists.
    narrows : tuple of str
        Further fields that a list can be narrowed by.
    unique : tuple of str
        Fields that no two records share, unless one is deleted.
    words : tuple of str
        The columns in which words are looked for.
    words_beside : mapping of str to Column
        What is looked for too: the column of what a reference points to.
    file : KeptFile, optional
        Where its files are kept.
    derived_fields : mapping
        Types of the fields of a stored record that follow from others; see `derived`.
    listed_fields : mapping
        Types of the fields that its own `read` adds to lists.
    lists : mapping
        What it tells in the lists of other kinds.
    follows : mapping
        What a change of a record of another kind brings about here; told the connection, that record
        and the moment.
    along : mapping
        Members that stand in an archive with records of another kind; told the connection and them.
    elsewhere : mapping
        Fields that are kept in a table of their own: in one column of it, or ('') each in one of its name.
    texts_beside : mapping
        What the texts are in columns that no form has, by table.
    found_again : tuple of Table
        Tables of what was found in its files, made anew wherever it is missing.
    removed_words, cleared_words, document_words : Message, optional
        How forgetting a person counts records that go, records that refer to them no more, and documents
        that they are taken out of.
    """

    name: str
    one: Message
    many: Message
    table: Table
    form: type[Form]
    sort: str
    descending: bool = False
    called: str = ""
    refers: Mapping[str, str] = field(default_factory=dict)
    belongs: tuple[str, ...] = ()
    goes_with: str = ""
    personal: bool = False
    made_from: str = ""
    by_hand: bool = True
    counted: bool = False
    pages: Literal["none", "list", "list and each"] = "none"
    from_the_first: bool = False
    heavy: tuple[str, ...] = ()
    narrows: tuple[str, ...] = ()
    unique: tuple[str, ...] = ()
    words: tuple[str, ...] = ()
    words_beside: Mapping[str, Column[Any]] = field(default_factory=dict)
    file: KeptFile | None = None
    derived_fields: Mapping[str, Any] = field(default_factory=dict)
    listed_fields: Mapping[str, Any] = field(default_factory=dict)
    lists: Mapping[str, tuple[ListedField, ...]] = field(default_factory=dict)
    follows: Mapping[str, Callable[[Connection, Record, str], None]] = field(default_factory=dict)
    along: Mapping[str, Callable[[Connection, Sequence[Record]], Iterator[tuple[str, bytes]]]] = field(
        default_factory=dict
    )
    elsewhere: Mapping[str, tuple[Table, str]] = field(default_factory=dict)
    texts_beside: Mapping[Table, Mapping[str, TextPlace]] = field(default_factory=dict)
    found_again: tuple[Table, ...] = ()
    removed_words: Message | None = None
    cleared_words: Message | None = None
    document_words: Message | None = None

    # --- writing and reading --------------------------------------------------------------------------

    def check(self, fields: Mapping[str, Any]) -> None:
        """Refuse fields that their form takes and that cannot be used all the same, with `BadInput`."""

    def settled(
        self,
        connection: Connection,
        fields: Mapping[str, Any],
        stored: Mapping[str, Any] | None,
        now_utc: str,
    ) -> Record:
        """Return the fields with those filled that were left open: from the stored record or anew."""
        return dict(fields)

    def faults(self, connection: Connection, fields: Mapping[str, Any]) -> list[Message]:
        """Return what is wrong between a record and what it refers to, all of which is there."""
        return []

    def derived(self, fields: Mapping[str, Any], stored: Mapping[str, Any] | None) -> Record:
        """Return the columns that follow from the fields."""
        return {}

    def write(
        self,
        connection: Connection,
        record_id: str,
        fields: Mapping[str, Any],
        stored: Mapping[str, Any] | None,
        now_utc: str,
    ) -> None:
        """Write what is kept beside the record's own row, which has been written."""

    def read(self, connection: Connection, records: Sequence[Record], *, whole: bool) -> None:
        """Add what is kept beside the rows; without `whole` they are for a list."""

    # --- archives -------------------------------------------------------------------------------------

    def file_name(self, record: Mapping[str, Any]) -> str:
        """Return what the file of a record is called in an archive and when it is given out."""
        ending = str(record["file_name"]).rpartition(".")[2].lower()
        usable = ending.isalnum() and ending.isascii()
        return f"{record['id']}.{ending if usable else 'bin'}"

    def unwritten(self) -> frozenset[str]:
        """Return the columns that stand in members of their own, not in a list of the archive."""
        return frozenset()

    def outgoing(self, connection: Connection, records: Sequence[Record]) -> None:
        """Turn rows into what an archive holds of them."""
        if self.file is not None:
            for record in records:
                record["file"] = f"{self.name}/{self.file_name(record)}"

    def members(self, connection: Connection, records: Sequence[Record]) -> Iterator[tuple[str, Any]]:
        """Give the members that belong to records, as values for JSON; the kept files come by themselves."""
        yield from ()

    def incoming(self, own: Record, reader: ArchiveReader) -> Beside:
        """Take what an archive tells beyond the form out of a record, and fill in what a member holds."""
        return {"file": named_file(own)} if self.file is not None else {}

    def arriving(
        self, around: Arriving, record_id: str, fields: Mapping[str, Any], beside: Beside
    ) -> list[Message]:
        """Return what is wrong between a record of an archive and what is here or came before it."""
        return []

    def rows_beside(
        self, record_id: str, fields: Mapping[str, Any], beside: Beside, reader: ArchiveReader
    ) -> Iterator[tuple[Table, Record, int]]:
        """Give the rows that stand beside an imported record, each with its table and about its bytes."""
        yield from ()

    def file_faults(self, fields: Mapping[str, Any], content: bytes) -> list[Message]:
        """Return what is wrong with the file of an imported record, whose size and sum are those told."""
        return []

    # --- forgetting a person --------------------------------------------------------------------------

    def searchers(self, row: Mapping[str, Any]) -> Sequence[str | None]:
        """Return the searchers of its run whose own a `personal` record is."""
        return ()

    def rewritten(self, connection: Connection, record_id: str, values: Mapping[str, Any]) -> None:
        """Make anew what is kept beside a record of which columns were rewritten."""


def named_file(own: Record) -> str:
    """Take the name of its member out of a record of an archive.

    Raises
    ------
    BadInput
        If there is none.
    """
    file = own.pop("file", None)
    if not isinstance(file, str):
        raise BadInput(message("fault.text").at("file"))
    return file
