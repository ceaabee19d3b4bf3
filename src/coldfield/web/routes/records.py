"""One family of routes for each kind of record: list, read, write, delete, bring back."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from typing import Annotated, Any

from fastapi import APIRouter, Header, Path, Query, Response
from pydantic import BaseModel, ConfigDict, Field, create_model

from coldfield.app.records import reading as records
from coldfield.records.database import Database
from coldfield.records.forms import Form, RecordId
from coldfield.records.kinds import KINDS, Kind
from coldfield.records.stored import model_of, stored_model
from coldfield.web.problems import documented
from coldfield.web.turns import writes

Id = Annotated[RecordId, Path()]
IfMatch = Annotated[
    str | None,
    Header(
        alias="If-Match",
        pattern=r'^"[0-9]{1,9}"$',
        description='The version a change is based on, in quotes as in ETag: "3".',
    ),
]
Limit = Annotated[int, Query(ge=1, le=500)]
After = Annotated[RecordId | None, Query(description="The id of the last record of the page before.")]
Find = Annotated[
    str,
    Field(
        max_length=200,
        pattern=r"^[^\x00-\x1f\x7f]*$",
        description="Words that records hold, all of them; case and accents do not matter.",
    ),
]
ETAG = {"ETag": {"description": "The record's version, in quotes.", "schema": {"type": "string"}}}


class Deleted(BaseModel):
    """A deletion; POST /api/deletions/{id}/undo takes it back."""

    deletion_id: str


class Deletion(BaseModel):
    """One deletion of the list."""

    id: str
    kind: str
    record_id: str
    deleted_utc: str


class GroundSketch(BaseModel):
    """What a small picture of a drill's ground needs: few corners, entry, burials; how many search."""

    boundary_m: list[list[float]]
    holes_m: list[list[list[float]]]
    entry_m: list[float]
    burials_m: list[list[float]]
    searchers: int


_LISTED: dict[str, dict[str, Any]] = {
    "drills": {"ground": (GroundSketch, ...), "last_run_utc": (str | None, ...)},
    "people": {"last_run_utc": (str | None, ...)},
    "courses": {"first_date": (str | None, ...), "last_date": (str | None, ...)},
}
"""Fields that a list tells beside a record's own."""


@cache
def page_model(kind: Kind) -> type[BaseModel]:
    """Return the model of a list: the records without what is heavy, and where to go on."""
    more = _LISTED.get(kind.name, {})
    listed = model_of(kind, f"Listed{kind.form.__name__}", without=kind.heavy, more=more)
    return create_model(
        f"{kind.form.__name__}Page",
        items=(list[listed], ...),  # type: ignore[valid-type]
        next=(str | None, ...),
        __doc__="One page of a list; `next` goes into `after` for the following one.",
    )


def router(database: Database) -> APIRouter:
    """Return the routes of all kinds."""
    api = APIRouter(prefix="/api")
    for kind in KINDS.values():
        _lists(api, database, kind)
        _reads(api, database, kind)
        if kind.name not in records.KEPT_APART:
            _writes(api, database, kind)
        _deletes(api, database, kind)
    _deletions(api, database)
    return api


def _typed(endpoint: Callable[..., Any], **annotations: Any) -> Callable[..., Any]:
    """Give an endpoint the types that depend on the kind."""
    endpoint.__annotations__.update(annotations)
    return endpoint


def _lists(api: APIRouter, database: Database, kind: Kind) -> None:
    narrows: dict[str, Any] = dict.fromkeys(kind.refers, (RecordId | None, None))
    for name in kind.narrows:
        values: Any = kind.form.model_fields[name].annotation
        narrows[name] = (values | None, None)
    more: dict[str, Any] = {"find": (Find | None, None)} | narrows if kind.words else narrows
    wanted = create_model(
        f"{kind.form.__name__}Query",
        __config__=ConfigDict(extra="forbid"),
        after=(RecordId | None, None),
        limit=(Annotated[int, Query(ge=1, le=500)], 100),
        **more,
    )

    def page(wanted: Any) -> dict[str, Any]:
        where = {column: value for column in narrows if (value := getattr(wanted, column)) is not None}
        find = getattr(wanted, "find", None)
        items = records.page(
            database, kind.name, where=where, find=find, after=wanted.after, limit=wanted.limit
        )
        full = len(items) == wanted.limit
        return {"items": items, "next": items[-1]["id"] if full else None}

    api.get(
        f"/{kind.name}",
        response_model=page_model(kind),
        responses=documented(404, 422),
        summary=f"List {kind.name}",
        operation_id=f"list_{kind.name}",
        tags=[kind.name],
    )(_typed(page, wanted=Annotated[wanted, Query()]))


def _reads(api: APIRouter, database: Database, kind: Kind) -> None:
    def read(record_id: Id, response: Response) -> dict[str, Any]:
        record = records.find(database, kind.name, record_id)
        response.headers["ETag"] = f'"{record["version"]}"'
        return record

    api.get(
        f"/{kind.name}/{{record_id}}",
        response_model=stored_model(kind),
        response_model_exclude_unset=True,
        responses={200: {"headers": ETAG}, **documented(404, 422)},
        summary=f"Read one {kind.one}",
        operation_id=f"read_{kind.name}",
        tags=[kind.name],
    )(read)


def _writes(api: APIRouter, database: Database, kind: Kind) -> None:
    def write(record_id: Id, form: Form, response: Response, if_match: IfMatch = None) -> dict[str, Any]:
        based_on = int(if_match.strip('"')) if if_match else None
        put = records.save(database, kind.name, record_id, form, based_on=based_on)
        response.status_code = 201 if put.created else 200
        response.headers["ETag"] = f'"{put.record["version"]}"'
        return put.record

    model = stored_model(kind)
    api.put(
        f"/{kind.name}/{{record_id}}",
        response_model=model,
        response_model_exclude_unset=True,
        responses={
            200: {"headers": ETAG},
            201: {"model": model, "description": "Created", "headers": ETAG},
            **documented(409, 412, 413, 422, 503, 507),
        },
        summary=f"Create or change one {kind.one}",
        description="A new record needs no If-Match; a change names the version it is based on. The same "
        "request twice leaves one record and gives the same answer.",
        operation_id=f"write_{kind.name}",
        tags=[kind.name],
    )(writes(_typed(write, form=kind.form)))


def _deletes(api: APIRouter, database: Database, kind: Kind) -> None:
    def delete(record_id: Id, if_match: IfMatch = None) -> dict[str, str]:
        based_on = int(if_match.strip('"')) if if_match else None
        return {"deletion_id": records.remove(database, kind.name, record_id, based_on=based_on)}

    api.delete(
        f"/{kind.name}/{{record_id}}",
        response_model=Deleted,
        responses=documented(404, 412, 422, 503, 507),
        summary=f"Delete one {kind.one} with what belongs to it; can be undone",
        operation_id=f"delete_{kind.name}",
        tags=[kind.name],
    )(writes(delete))


def _deletions(api: APIRouter, database: Database) -> None:
    @api.get("/deletions", response_model=list[Deletion], responses=documented(422), tags=["deletions"])
    def list_deletions(limit: Limit = 100) -> list[dict[str, str]]:
        """List the latest deletions, newest first."""
        return records.deletions(database, limit)

    @api.post(
        "/deletions/{deletion_id}/undo", responses=documented(404, 409, 422, 503, 507), tags=["deletions"]
    )
    @writes
    def undo_deletion(deletion_id: Id) -> dict[str, Any]:
        """Bring back what a deletion took; answers with the record it was asked for."""
        return records.undo(database, deletion_id)
