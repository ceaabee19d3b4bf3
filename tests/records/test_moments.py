"""Runs outside 1970 to 2099, which an earlier Coldfield kept but could not read, are readable after opening."""

from __future__ import annotations

from importlib import import_module
from pathlib import Path

from alembic.migration import MigrationContext
from alembic.operations import Operations
from sqlalchemy import text

from coldfield.app.records.keeping import export_records
from coldfield.records.database import open_sqlite
from coldfield.records.folder import Folder
from coldfield.records.store import Store
from example_records import a_small_season


def test_regression_a_run_kept_before_1970_is_listed_and_exported_again(
    folder: Folder, tmp_path: Path
) -> None:
    database = open_sqlite(folder)
    a_small_season(database)
    migration = import_module("coldfield.records.migrations.versions.0009_moments_within_bounds")
    with database.write() as connection:
        for table in ("run", "run_searcher"):
            connection.execute(text(f"UPDATE {table} SET held_utc = '1969-12-31T19:30:00.000Z'"))
        with Operations.context(MigrationContext.configure(connection)):
            migration.upgrade()
    database.close()
    again = open_sqlite(folder)
    with again.read() as connection:
        (run,) = Store(connection, "").page("runs")
    assert run["held_utc"] == "1970-01-01T00:00:00.000Z"
    export_records(again, tmp_path / "all.zip")
    again.close()
