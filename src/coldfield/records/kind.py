"""A kind of record: its table and form, its references, and everything special about it.

Whatever is the same for all kinds (routes, lists, search, deletion, export, import, tables as CSV,
forgetting a person) follows from this. A kind defines here what is special about it; no other code
asks which kind it is.
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
"""What an archive holds of a record beyond the fields of its form, such as the name of its file."""

Made = TypeVar("Made")


@dataclass(frozen=True, slots=True)
class KeptFile:
    """Where the original files of a kind are stored: one for each record.

    `table` has the bytes in `content`, `column` names the record; `most_bytes` is the largest size.
    The form of such a kind has `file_name`, `size_bytes` and `sha256`.
    """

    table: Table
    column: str
    most_bytes: int


@dataclass(frozen=True, slots=True)
class ListedField:
    """A field in the lists of one kind that another kind supplies, such as when a drill was last run."""

    name: str
    type: Any
    value: ColumnElement[Any]


class Arriving:
    """An archive being imported, as its kinds see it.

    Parameters
    ----------
    connection : Connection
        The records into which it goes.
    reader : ArchiveReader
        The archive.
    """

    def __init__(self, connection: Connection, reader: ArchiveReader) -> None:
        self.connection, self.reader = connection, reader
        self._noted: dict[Callable[[], Any], Any] = {}

    def noted(self, make: Callable[[], Made]) -> Made:
        """Return the notes of a kind during this import; they are created on first use."""
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
        The name of its routes and members.
    one, many : Message
        The words for one of them and for several, as people read them.
    table : Table
        Its table, made by `record_table`.
    form : type of Form
        What people fill in.
    sort : str
        The column by which its lists are sorted.
    descending : bool
        Whether the last one comes first.
    called : str
        The column by which people know a record, '' if none.
    refers : mapping of str to str
        The kind to which each reference points, by its place: ``owner_id``, ``searchers[].person_id``.
    belongs : tuple of str
        The references to what it is a part of: it is deleted and brought back with that.
    goes_with : str
        The reference along which it is exported with a drill, '' if it is not.
    personal : bool
        True: it is somebody's own and is removed when they are forgotten. False: only their name is
        removed. Whatever cannot exist without the person is removed in any case.
    made_from : str
        The reference to its source: it is removed if that named a forgotten person.
    by_hand : bool
        True: people fill it in. False: it comes from a file with its own route, or from a computation.
    counted : bool
        Whether the first page says how many there are.
    pages : str
        Which pages the app has: 'none', 'list', or 'list and each'.
    from_the_first : bool
        Whether every archive has it; archives from an earlier Coldfield lack the other kinds.
    heavy : tuple of str
        The fields left out of lists.
    narrows : tuple of str
        Further fields by which a list can be narrowed.
    unique : tuple of str
        Fields that no two records share, unless one is deleted.
    words : tuple of str
        The columns that are searched for words.
    words_beside : mapping of str to Column
        Columns of referenced records that are searched too.
    file : KeptFile, optional
        Where its files are stored.
    derived_fields : mapping
        Types of the fields of a stored record that follow from others; see `derived`.
    listed_fields : mapping
        Types of the fields that its own `read` adds to lists.
    lists : mapping
        What it supplies for the lists of other kinds.
    follows : mapping
        What a change of a record of another kind causes here; called with the connection, that record
        and the moment.
    along : mapping
        Members of an archive that belong to records of another kind; called with the connection and
        those records.
    elsewhere : mapping
        Fields stored in another table: in one of its columns, or ('') each in a column with its name.
    texts_beside : mapping
        What the texts are in columns that no form has, by table.
    found_again : tuple of Table
        Tables of what was found in its files; recomputed wherever it is missing.
    removed_words, cleared_words, document_words : Message, optional
        Words for counting, when a person is forgotten, removed records, records that no longer refer to
        the person, and documents from which the person was removed.
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
        """Raise `BadInput` for fields that their form accepts but that cannot be used."""

    def settled(
        self,
        connection: Connection,
        fields: Mapping[str, Any],
        stored: Mapping[str, Any] | None,
        now_utc: str,
    ) -> Record:
        """Return the fields with open ones filled in: from the stored record, or with new values."""
        return dict(fields)

    def faults(self, connection: Connection, fields: Mapping[str, Any]) -> list[Message]:
        """Return the faults between a record and the existing records to which it refers."""
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
        """Write what is stored outside the record's own row, after that row has been written."""

    def read(self, connection: Connection, records: Sequence[Record], *, whole: bool) -> None:
        """Add what is stored outside the rows; without `whole` they are for a list."""

    # --- archives -------------------------------------------------------------------------------------

    def file_name(self, record: Mapping[str, Any]) -> str:
        """Return the name of a record's file in an archive and for download."""
        ending = str(record["file_name"]).rpartition(".")[2].lower()
        usable = ending.isalnum() and ending.isascii()
        return f"{record['id']}.{ending if usable else 'bin'}"

    def unwritten(self) -> frozenset[str]:
        """Return the columns that have their own members instead of being in a list of the archive."""
        return frozenset()

    def outgoing(self, connection: Connection, records: Sequence[Record]) -> None:
        """Turn rows into the form of an archive."""
        if self.file is not None:
            for record in records:
                record["file"] = f"{self.name}/{self.file_name(record)}"

    def members(self, connection: Connection, records: Sequence[Record]) -> Iterator[tuple[str, Any]]:
        """Yield the members of records, as values for JSON; stored files are handled separately."""
        yield from ()

    def incoming(self, own: Record, reader: ArchiveReader) -> Beside:
        """Remove from a record what an archive holds beyond the form, and fill in what a member holds."""
        return {"file": named_file(own)} if self.file is not None else {}

    def arriving(
        self, around: Arriving, record_id: str, fields: Mapping[str, Any], beside: Beside
    ) -> list[Message]:
        """Return the faults between a record of an archive and existing records or earlier ones in it."""
        return []

    def rows_beside(
        self, record_id: str, fields: Mapping[str, Any], beside: Beside, reader: ArchiveReader
    ) -> Iterator[tuple[Table, Record, int]]:
        """Yield the other rows of an imported record, each with its table and approximate size in bytes."""
        yield from ()

    def file_faults(self, fields: Mapping[str, Any], content: bytes) -> list[Message]:
        """Return the faults of an imported record's file, whose size and sum are correct."""
        return []

    # --- forgetting a person --------------------------------------------------------------------------

    def searchers(self, row: Mapping[str, Any]) -> Sequence[str | None]:
        """Return the searchers of its run to whom a `personal` record belongs."""
        return ()

    def rewritten(self, connection: Connection, record_id: str, values: Mapping[str, Any]) -> None:
        """Recompute what is stored outside a record after columns of it were rewritten."""


def named_file(own: Record) -> str:
    """Remove the name of its member from a record of an archive and return it.

    Raises
    ------
    BadInput
        If there is none.
    """
    file = own.pop("file", None)
    if not isinstance(file, str):
        raise BadInput(message("fault.text").at("file"))
    return file
