"""Elevation grids under drills, with their original files."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field
from sqlalchemy import Column, ForeignKey, Index, Integer, LargeBinary, String, Table, Text

from coldfield.files.wording import TextPlace, Wording
from coldfield.message import message
from coldfield.records.forms import PROSE_PATTERN, FileName, Form, RecordId, Sha256
from coldfield.records.kind import KeptFile, Kind
from coldfield.records.tables import Id, metadata, record_table, refers_to, text_column

MOST_GRID_BYTES = 32_000_000
"""The largest accepted file of an elevation grid, bytes. Setting."""

grid = record_table(
    "grid",
    refers_to("drill"),
    text_column("file_name"),
    Column("crs", Text, nullable=True),
    Column("size_bytes", Integer, nullable=False),
    Column("sha256", String(64), nullable=False),
    Index(None, "drill_id", "created_utc", "id"),
    Index(None, "created_utc", "id"),
)


grid_file = Table(
    "grid_file",
    metadata,
    Column("grid_id", Id, ForeignKey("grid.id"), primary_key=True),
    Column("content", LargeBinary, nullable=False),
)


class ElevationGrid(Form):
    """What is known about the elevation grid under a drill; the file itself is kept as it came.

    `crs` names its coordinate system if the file does not: 'site' for metres of the site frame, an
    'EPSG:...' code, or a WKT text.
    """

    drill_id: RecordId
    file_name: FileName
    crs: Annotated[str, Field(min_length=1, max_length=5000, pattern=PROSE_PATTERN), Wording.WORDS] | None = (
        None
    )
    size_bytes: Annotated[int, Field(ge=1, le=MOST_GRID_BYTES)]
    sha256: Sha256


KIND = Kind(
    name="grids",
    one=message("term.kind.grid"),
    many=message("term.kinds.grids"),
    table=grid,
    form=ElevationGrid,
    sort="created_utc",
    descending=True,
    called="file_name",
    refers={"drill_id": "drills"},
    belongs=("drill_id",),
    goes_with="drill_id",
    by_hand=False,
    file=KeptFile(grid_file, "grid_id", MOST_GRID_BYTES),
    texts_beside={grid_file: {"grid_id": TextPlace(Wording.RECORD)}},
)
