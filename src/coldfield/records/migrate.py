"""Numbered migrations: which one a database is at, and how it gets to the newest, whole or not at all."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from sqlalchemy import Connection, inspect, text

from coldfield.errors import StoreTrouble

if TYPE_CHECKING:
    from alembic.config import Config

HEAD = "0009"
"""The newest migration this program knows; a test holds it equal to the newest file."""

FOLDER = Path(__file__).parent / "migrations"


def revision(connection: Connection) -> str | None:
    """Return the migration a database is at, or None for an empty one.

    Raises
    ------
    StoreTrouble
        If the database holds tables, but not ours.
    """
    tables = set(inspect(connection).get_table_names())
    if "alembic_version" in tables and "deletion" in tables:
        return str(connection.execute(text("SELECT version_num FROM alembic_version")).scalar_one())
    if tables:
        raise StoreTrouble(
            "this database belongs to another program: nothing was changed; name an empty one, or the "
            "file that Coldfield made",
            kind="foreign",
        )
    return None


def refuse_newer(found: str) -> None:
    """Refuse a database whose schema is newer than this program.

    Raises
    ------
    StoreTrouble
        With both numbers and the way back.
    """
    if found > HEAD:
        raise StoreTrouble(
            f"these records were written by a newer Coldfield (schema {found}; this one knows up to "
            f"{HEAD}): nothing was changed; install the newer Coldfield, or restore a backup made before "
            "the update (its folder 'kept' holds a copy from that moment)",
            kind="newer",
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
