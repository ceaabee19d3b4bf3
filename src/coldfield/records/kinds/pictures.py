"""Photos and maps under the plans of drills: their pixels, and their place on the ground."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field
from sqlalchemy import JSON, Column, Float, ForeignKey, Index, Integer, LargeBinary, String, Table

from coldfield.errors import BadInput
from coldfield.files.bare_picture import bare_size
from coldfield.files.drill_model import PointM
from coldfield.files.picture_file import LEAST_SIDE, MOST_PICTURE_BYTES, MOST_SIDE
from coldfield.files.wording import TextPlace, Wording
from coldfield.message import Message, message
from coldfield.records.forms import FileName, Form, RecordId, Sha256
from coldfield.records.kind import KeptFile, Kind
from coldfield.records.tables import Id, metadata, record_table, refers_to, text_column

USUALLY_SHOWN = 0.7
"""How strongly a new picture shows, 0 to 1. Setting."""

picture = record_table(
    "ground_picture",
    refers_to("drill"),
    text_column("file_name"),
    Column("width_px", Integer, nullable=False),
    Column("height_px", Integer, nullable=False),
    Column("shown", Float(53), nullable=False),
    Column("points", JSON, nullable=False),
    Column("placed_by", String(8), nullable=True),
    Column("matrix", JSON(none_as_null=True), nullable=True),
    Column("residual_m", Float(53), nullable=True),
    Column("size_bytes", Integer, nullable=False),
    Column("sha256", String(64), nullable=False),
    Index(None, "drill_id", "created_utc", "id"),
    Index(None, "created_utc", "id"),
)


picture_file = Table(
    "picture_file",
    metadata,
    Column("picture_id", Id, ForeignKey("ground_picture.id"), primary_key=True),
    Column("content", LargeBinary, nullable=False),
)

Side = Annotated[int, Field(ge=LEAST_SIDE, le=MOST_SIDE)]
Pixel = Annotated[float, Field(ge=0, le=MOST_SIDE)]


class KnownPoint(BaseModel):
    """A place that is visible in a picture: its column and row, and its position on the plan in metres."""

    model_config = ConfigDict(extra="forbid", strict=True, allow_inf_nan=False)

    pixel: Annotated[list[Pixel], Field(min_length=2, max_length=2)]
    position_m: PointM


class PictureTold(Form):
    """How a picture is placed and how strongly it shows.

    `points`: two to four known places; none: as given by its file, if it is. `shown`: 0 hidden, 1 in full.
    """

    points: Annotated[list[KnownPoint], Field(max_length=4)] = []
    shown: Annotated[float, Field(ge=0, le=1)] = USUALLY_SHOWN


class Picture(PictureTold):
    """What is known about a picture under a drill; the file holds only its pixels, as PNG or JPEG.

    `matrix`: six numbers a to f; the pixel in column x and row y lies a x + b y + c metres east and
    d x + e y + f metres north of the origin; null while the place is unknown. `residual_m`: root mean square
    distance of the known points, or of the corners of a georeferenced picture, from where it shows them; null
    if unknown.
    """

    drill_id: RecordId
    file_name: FileName
    width_px: Side
    height_px: Side
    placed_by: Literal["file", "points"] | None = None
    matrix: (
        Annotated[list[Annotated[float, Field(ge=-1e6, le=1e6)]], Field(min_length=6, max_length=6)] | None
    ) = None
    residual_m: Annotated[float, Field(ge=0, le=1e6)] | None = None
    size_bytes: Annotated[int, Field(ge=1, le=MOST_PICTURE_BYTES)]
    sha256: Sha256


class _Pictures(Kind):
    def check(self, fields: Mapping[str, Any]) -> None:
        """Raise an error for a picture without any placing, or placed by points that it does not have."""
        by_points = fields["placed_by"] == "points"
        if (fields["matrix"] is None) != (fields["placed_by"] is None) or by_points != bool(fields["points"]):
            raise BadInput(message("fault.picture_placed").at("placed_by"))

    def file_faults(self, fields: Mapping[str, Any], content: bytes) -> list[Message]:
        """Return the faults of a picture in an archive: it may hold only pixels, and as many as stated."""
        told = (fields["width_px"], fields["height_px"])
        return [] if bare_size(content) == told else [message("fault.picture_not_bare").at("file")]


KIND = _Pictures(
    name="pictures",
    one=message("term.kind.picture"),
    many=message("term.kinds.pictures"),
    table=picture,
    form=Picture,
    sort="created_utc",
    descending=True,
    called="file_name",
    refers={"drill_id": "drills"},
    belongs=("drill_id",),
    goes_with="drill_id",
    by_hand=False,
    file=KeptFile(picture_file, "picture_id", MOST_PICTURE_BYTES),
    texts_beside={picture_file: {"picture_id": TextPlace(Wording.RECORD)}},
)
