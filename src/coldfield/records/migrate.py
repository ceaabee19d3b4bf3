"""Numbered migrations: the one of a database, and the way to the newest, completely or not at all."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sqlalchemy import Connection, create_engine, inspect, text
from sqlalchemy.exc import DBAPIError, OperationalError, ProgrammingError

from coldfield.errors import StoreTrouble
from coldfield.message import Message, message, verbatim
from coldfield.records.faults import trouble
from coldfield.records.schema import metadata

if TYPE_CHECKING:
    from alembic.config import Config

FOLDER = Path(__file__).parent / "migrations"

HEAD = max(path.name[:4] for path in FOLDER.glob("versions/[0-9]*.py"))
"""The newest migration that this program knows."""

THESE = message("term.these_records")

_NUMBER = re.compile(r"[0-9]{4}")


def revision(connection: Connection) -> str | None:
    """Return the migration of a database, or None for an empty one.

    Raises
    ------
    StoreTrouble
        If the database has tables that are not ours, or a schema that this program does not know.
    """
    tables = set(inspect(connection).get_table_names())
    if "alembic_version" in tables and "deletion" in tables:
        try:
            rows = connection.execute(text("SELECT version_num FROM alembic_version")).scalars().all()
        except (ProgrammingError, OperationalError):
            rows = []
        return known(rows, THESE)
    if tables:
        raise StoreTrouble(message("fault.store_foreign_database"), kind="foreign")
    return None


def known(found: Sequence[object], what: Message) -> str:
    """Return the schema that a database claims to have; refuse it if this program does not know it.

    Parameters
    ----------
    found : sequence
        The content of its schema table: one row, otherwise it is damaged.
    what : Message
        The database, for the message.

    Raises
    ------
    StoreTrouble
        If it is newer than this program (with both numbers and the remedy), or if Coldfield never
        had such a schema.
    """
    number = found[0] if len(found) == 1 else None
    if isinstance(number, str) and _NUMBER.fullmatch(number):
        if number > HEAD:
            raise StoreTrouble(message("fault.store_newer", what=what, found=number, own=HEAD), kind="newer")
        if any(FOLDER.glob(f"versions/{number}_*.py")):
            return number
    said = tuple(_printable(str(one)[:20]) for one in found) or message("term.no_number")
    raise StoreTrouble(message("fault.store_schema_number", what=what, own=HEAD, found=said), kind="damaged")


def _printable(text: str) -> str:
    return text if text.isprintable() else ascii(text)


def migrate(connection: Connection, *, to: str = "head", what: Message = THESE) -> None:
    """Bring a database to a migration within the caller's transaction.

    Raises
    ------
    StoreTrouble
        If its tables are not those of the schema that it names; the caller must undo the transaction.
    """
    before = revision(connection)
    try:
        _migrate(connection, to)
    except DBAPIError as error:
        if trouble(error) is not None:
            raise
        raise _misfit(what, before, verbatim(str(error.orig).partition("\n")[0][:80])) from error


def refuse_misfit(connection: Connection, what: Message = THESE) -> None:
    """Refuse a database that names the newest schema but lacks a table or a column of it.

    Raises
    ------
    StoreTrouble
        It names the first one missing.
    """
    found = inspect(connection).get_multi_columns()
    columns = {table: {one["name"] for one in listed} for (_, table), listed in found.items()}
    for table in metadata.sorted_tables:
        for column in table.c:
            if column.name not in columns.get(table.name, ()):
                raise _misfit(what, HEAD, message("reason.no_column", column=f"{table.name}.{column.name}"))


def try_out(tables: Sequence[str], number: str, what: Message) -> None:
    """Migrate an empty copy of a database's tables, and check whether they are then ours.

    Parameters
    ----------
    tables : sequence of str
        The statements that make its tables and indexes, as SQLite keeps them.
    number : str
        The schema that it names.
    what : Message
        The database, for the message.

    Raises
    ------
    StoreTrouble
        If its tables are not those of the schema that it names.
    """
    engine = create_engine("sqlite://")
    try:
        with engine.begin() as connection:
            for statement in tables:
                connection.exec_driver_sql(statement)
            connection.execute(text("INSERT INTO alembic_version VALUES (:number)"), {"number": number})
            migrate(connection, what=what)
            refuse_misfit(connection, what)
    finally:
        engine.dispose()


def _misfit(what: Message, number: str | None, why: Message) -> StoreTrouble:
    return StoreTrouble(message("fault.store_misfit", what=what, found=str(number), why=why), kind="damaged")


def _migrate(connection: Connection, to: str) -> None:
    from alembic.runtime.environment import EnvironmentContext
    from alembic.script import ScriptDirectory

    config = configuration()
    script = ScriptDirectory.from_config(config)

    def steps(found: Any, _context: Any) -> Any:
        return script._upgrade_revs(to, found)

    with EnvironmentContext(config, script, fn=steps, destination_rev=to) as environment:
        environment.configure(connection=connection, transactional_ddl=True)
        environment.run_migrations()


def configuration() -> Config:
    """Return alembic's configuration, without any file."""
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(FOLDER).replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    return config
