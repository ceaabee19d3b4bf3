"""Numbered migrations: which one a database is at, and how it gets to the newest, whole or not at all."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sqlalchemy import Connection, inspect, text
from sqlalchemy.exc import OperationalError, ProgrammingError

from coldfield.errors import StoreTrouble

if TYPE_CHECKING:
    from alembic.config import Config

HEAD = "0012"
"""The newest migration this program knows; a test holds it equal to the newest file."""

FOLDER = Path(__file__).parent / "migrations"

_NUMBER = re.compile(r"[0-9]{4}")


def revision(connection: Connection) -> str | None:
    """Return the migration a database is at, or None for an empty one.

    Raises
    ------
    StoreTrouble
        If the database holds tables, but not ours, or one of a schema that this program does not know.
    """
    tables = set(inspect(connection).get_table_names())
    if "alembic_version" in tables and "deletion" in tables:
        try:
            rows = connection.execute(text("SELECT version_num FROM alembic_version")).scalars().all()
        except (ProgrammingError, OperationalError):
            rows = []
        return known(rows, "these records")
    if tables:
        raise StoreTrouble(
            "this database belongs to another program: nothing was changed; name an empty one, or the "
            "file that Coldfield made",
            kind="foreign",
        )
    return None


def known(found: Sequence[object], what: str) -> str:
    """Return the schema that a database tells it is of, refused unless this program knows it.

    Parameters
    ----------
    found : sequence
        What its table of the schema holds: one row, or else it is damaged.
    what : str
        The database, for the message.

    Raises
    ------
    StoreTrouble
        If it is newer than this program, with both numbers and the way back, or is none that
        Coldfield ever had.
    """
    number = found[0] if len(found) == 1 else None
    if isinstance(number, str) and _NUMBER.fullmatch(number):
        if number > HEAD:
            raise StoreTrouble(
                f"{what} were written by a newer Coldfield (schema {number}; this one knows up to {HEAD}): "
                "nothing was changed; install the newer Coldfield, or restore a backup made before the "
                "update (its folder 'kept' holds a copy from that moment)",
                kind="newer",
            )
        if any(FOLDER.glob(f"versions/{number}_*.py")):
            return number
    said = ", ".join(str(one)[:20] for one in found) or "none"
    raise StoreTrouble(
        f"{what} cannot be used: their schema number must be one from 0001 to {HEAD}, not: {said}; nothing "
        "was changed; restore a backup",
        kind="damaged",
    )


def migrate(connection: Connection, *, to: str = "head") -> None:
    """Bring a database to a migration within the caller's transaction."""
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
