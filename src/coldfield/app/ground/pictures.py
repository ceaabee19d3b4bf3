"""Pictures under the plans of drills: keep them, place them by file or known points, set their opacity."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from hashlib import sha256
from pathlib import Path, PurePosixPath
from typing import Any

import numpy as np

from coldfield.app.drills.files import read_bytes
from coldfield.app.ground.on_record import stored_site
from coldfield.app.jobs.stages import Progress, not_told
from coldfield.drill.frame import SiteFrame
from coldfield.drill.ground_screen import site_places
from coldfield.drill.laid_picture import laid_by, six
from coldfield.drill.site import Point, Site
from coldfield.errors import BadInput, OutOfModel
from coldfield.files.carried_picture import Under
from coldfield.files.elevation import projection
from coldfield.files.picture_file import MOST_PICTURE_BYTES, PictureFile, Placed, read_picture
from coldfield.message import message
from coldfield.records.checking import checked, read_form
from coldfield.records.database import Database
from coldfield.records.kinds.pictures import USUALLY_SHOWN
from coldfield.records.store import Put, Record, Store

BEYOND = 0.1
"""How far beyond the picture's edge the middle of the ground may lie, in picture sizes. Setting."""


def keep_picture(
    database: Database,
    picture_id: str,
    content: bytes,
    told: Mapping[str, Any],
    *,
    progress: Progress = not_told,
) -> Put:
    """Keep a picture with a drill, re-encoded; a GeoTIFF is placed at once by its own data.

    Parameters
    ----------
    database : Database
        The records.
    picture_id : str
        An id made by the caller.
    content : bytes
        The file: PNG, JPEG or GeoTIFF.
    told : mapping
        `drill_id` and `file_name`; `like` (may be None) is a picture of the same size whose position and
        opacity this one takes over.
    progress : callable
        Called before and after the file is read. If it raises, nothing is kept.

    Raises
    ------
    BadInput
        If the file cannot be used, places itself elsewhere, or the drill has no map position.
    UnknownRecord
        If there is no such drill.
    Conflict
        If another picture has this id.
    """
    source = str(told["file_name"])
    own = {key: told[key] for key in ("drill_id", "file_name")}
    with database.read() as connection:
        store = Store(connection, database.stamp())
        drill = store.get("drills", told["drill_id"])
        like = store.get("pictures", told["like"]) if told["like"] is not None else None
    progress(0, 0, "reading")
    file = read_picture(content, source)
    fields = read_form(
        "pictures", {**own, **_of(file, source), **_laid(file, stored_site(drill), source, like)}
    )
    progress(0, 0, "keeping")
    with database.write() as connection:
        store = Store(connection, database.stamp())
        put = store.put("pictures", picture_id, checked("pictures", fields), based_on=None)
        store.keep_file("pictures", picture_id, file.content)
        return put


def picture_under(database: Database, drill_id: str) -> Under | None:
    """Return the picture under a recorded drill; None if there is none, or it is hidden."""
    with database.read() as connection:
        store = Store(connection, database.stamp())
        for kept in store.page("pictures", where={"drill_id": drill_id}, limit=1):
            if kept["matrix"] is not None and kept["shown"] > 0.0:
                return Under(store.file("pictures", kept["id"]), tuple(kept["matrix"]), kept["shown"])
    return None


def picture_of_run(database: Database, run_id: str) -> Under | None:
    """Return the picture under the drill of a run, as `picture_under` does."""
    with database.read() as connection:
        drill_id = Store(connection, database.stamp()).get("runs", run_id)["drill_id"]
    return None if drill_id is None else picture_under(database, drill_id)


def picture_in_file(path: Path | str | None, known: Sequence[str], site: Site) -> Under | None:
    """Return the picture in a file, placed under the plan of a site; None without a file.

    Parameters
    ----------
    path : path, optional
        The file: PNG, JPEG or GeoTIFF.
    known : sequence of str
        Two to four known places, each as 'COLUMN,ROW=EAST,NORTH' in pixels and metres; if empty, the file's
        own data place it.

    Raises
    ------
    BadInput
        If the file cannot be used, its position is unknown, or the known places do not define one.
    """
    if path is None:
        if known:
            raise BadInput(message("fault.known_without_picture").at("known"))
        return None
    source = str(path)
    file = read_picture(read_bytes(path, most_bytes=MOST_PICTURE_BYTES + 1), source)
    if known:
        try:
            matrix: tuple[float, ...] = laid_by(_known(known)).matrix
        except OutOfModel as error:
            raise BadInput(error.message.at("known"), source) from None
    elif file.placed is None:
        raise BadInput(message("fault.picture_lies_nowhere"), source)
    else:
        matrix, _ = georeferenced(file.placed, (file.width_px, file.height_px), site, source)
    return Under(file.content, matrix, USUALLY_SHOWN)


_KNOWN = re.compile(r"([^,=]+),([^,=]+)=([^,=]+),([^,=]+)")


def _known(words: Sequence[str]) -> list[tuple[Point, Point]]:
    points, faults = [], []
    for word in words:
        try:
            column, row, east, north = map(float, _KNOWN.fullmatch(word).groups())  # type: ignore[union-attr]
            points.append(((column, row), (east, north)))
        except (AttributeError, ValueError):
            faults.append(message("fault.no_known_place", word=word[:60]).at("known"))
    if faults:
        raise BadInput(faults)
    return points


def _of(file: PictureFile, source: str) -> dict[str, Any]:
    """Return the form's fields of the kept file; its extension matches its format."""
    stem = PurePosixPath(source.replace("\\", "/")).stem[:100] or "picture"
    return {
        "file_name": f"{stem}.{file.ending}",
        "width_px": file.width_px,
        "height_px": file.height_px,
        "size_bytes": len(file.content),
        "sha256": sha256(file.content).hexdigest(),
    }


def _laid(file: PictureFile, site: Site, source: str, like: Record | None) -> dict[str, Any]:
    if like is not None and (like["width_px"], like["height_px"]) == (file.width_px, file.height_px):
        return {key: like[key] for key in ("points", "shown", "placed_by", "matrix", "residual_m")}
    if file.placed is None:
        return {}
    matrix, residual_m = georeferenced(file.placed, (file.width_px, file.height_px), site, source)
    return {"placed_by": "file", "matrix": list(matrix), "residual_m": residual_m}


def georeferenced(
    placed: Placed, size_px: tuple[int, int], site: Site, source: str
) -> tuple[tuple[float, ...], float]:
    """Return the affine map of a georeferenced picture into the frame of a site, and the map's error.

    The map is fitted on a net of places around the site. The second value is its root-mean-square error
    there, m (below a centimetre for UTM over a kilometre).

    Raises
    ------
    BadInput
        If the site has no map position, or the picture does not show it.
    """
    if site.origin.nowhere:
        raise BadInput(message("fault.picture_under_nowhere"), source)
    places = site_places(site)
    middle, reach = places.mean(axis=0), max(200.0, float(np.ptp(places, axis=0).max()))
    net = middle + reach * np.stack(np.meshgrid(*[np.linspace(-1, 1, 5)] * 2), axis=-1).reshape(-1, 2)
    a, b, c, d, e, f = placed.matrix
    x, y = projection(placed.crs, source)(*SiteFrame(site.origin).to_wgs84(net))
    pixel = (np.stack([x - c, y - f], axis=-1)) @ np.linalg.inv(np.array([[a, b], [d, e]])).T
    centre = pixel.mean(axis=0)
    beyond = np.abs(centre / np.array(size_px) - 0.5) > 0.5 + BEYOND
    if not np.isfinite(pixel).all() or beyond.any():
        raise BadInput(message("fault.picture_elsewhere"), source)
    turned, *_ = np.linalg.lstsq(pixel - centre, net - middle, rcond=None)
    matrix = np.column_stack([turned.T, middle - centre @ turned])
    missed = net - (pixel @ matrix[:, :2].T + matrix[:, 2])
    return six(matrix), round(float(np.sqrt((missed**2).sum(axis=1).mean())), 6)


def tell_picture(
    database: Database, picture_id: str, told: Mapping[str, Any], *, based_on: int | None
) -> Record:
    """Place a picture by known points, or change its opacity.

    Parameters
    ----------
    database, picture_id : Database, str
        The records, and the picture.
    told : mapping
        `points` and `shown`, as in `PictureTold`; without points the file's own data place it.
    based_on : int or None
        The version that the change is based on.

    Raises
    ------
    BadInput
        If the points do not define a position.
    UnknownRecord, Conflict
        If there is no such picture, or it has changed since.
    """
    laid = _by_points(told["points"]) if told["points"] else {}
    with database.write() as connection:
        store = Store(connection, database.stamp())
        stored = store.get("pictures", picture_id)
        form = {
            key: stored[key]
            for key in ("drill_id", "file_name", "width_px", "height_px", "size_bytes", "sha256")
        }
        if not laid and stored["placed_by"] == "file":
            laid = {key: stored[key] for key in ("placed_by", "matrix", "residual_m")}
        fields = checked("pictures", read_form("pictures", {**form, **told, **laid}))
        return store.put("pictures", picture_id, fields, based_on=based_on).record


def _by_points(points: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
    try:
        laid = laid_by([(tuple(one["pixel"]), tuple(one["position_m"])) for one in points])
    except OutOfModel as error:
        raise BadInput(error.message.at("points")) from None
    return {
        "placed_by": "points",
        "matrix": list(laid.matrix),
        "residual_m": round(laid.residual_m, 3) if laid.spare else None,
    }
