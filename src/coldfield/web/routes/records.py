"""One set of routes for each kind of record: list, read, write, delete, restore."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Annotated, Any

from fastapi import APIRouter, Header, Path, Query, Request, Response
from pydantic import BaseModel, ConfigDict, Field, create_model

from coldfield.app.records import reading as records
from coldfield.records.database import Database
from coldfield.records.forms import Form, RecordId
from coldfield.records.kind import KeptFile, Kind
from coldfield.records.kinds import KINDS
from coldfield.records.store import Deletion, Put, Record
from coldfield.records.stored import listed_model, stored_model
from coldfield.web.problems import documented
from coldfield.web.turns import in_turn, writes
from coldfield.words import ENGLISH, say

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
_BYTES = {"application/octet-stream": {"schema": {"type": "string", "format": "binary"}}}
ETAG = {"ETag": {"description": "The record's version, in quotes.", "schema": {"type": "string"}}}


@dataclass(frozen=True, slots=True, kw_only=True)
class Deleted:
    """A deletion; POST /api/deletions/{id}/undo reverses it."""

    deletion_id: str


@cache
def page_model(kind: Kind) -> type[BaseModel]:
    """Return the model of a list: the records without large fields, and where the next page starts."""
    return create_model(
        f"{kind.form.__name__}Page",
        items=(list[listed_model(kind)], ...),  # type: ignore[misc, arg-type]
        next=(str | None, ...),
        __doc__="One page of a list; `next` goes into `after` for the following one.",
    )


def router(database: Database) -> APIRouter:
    """Return the routes of all kinds."""
    api = APIRouter(prefix="/api")
    for kind in KINDS.values():
        _lists(api, database, kind)
        _tables(api, database, kind)
        _reads(api, database, kind)
        if kind.by_hand:
            _writes(api, database, kind)
        if kind.file is not None:
            _files(api, database, kind, kind.file)
        _deletes(api, database, kind)
    _deletions(api, database)
    return api


def _called(kind: Kind) -> str:
    """Return the name of a record of a kind in the OpenAPI description."""
    return say(kind.one, ENGLISH)


def _typed(endpoint: Callable[..., Any], **annotations: Any) -> Callable[..., Any]:
    """Give an endpoint the types that depend on the kind."""
    endpoint.__annotations__.update(annotations)
    return endpoint


def _narrows(kind: Kind) -> dict[str, Any]:
    """Return the fields of a query that filter a list: references, further columns, words."""
    columns = [name for name in kind.refers if name in kind.table.c]
    narrows: dict[str, Any] = dict.fromkeys(columns, (RecordId | None, None))
    for name in kind.narrows:
        values: Any = kind.form.model_fields[name].annotation
        narrows[name] = (values | None, None)
    return {"find": (Find | None, None)} | narrows if kind.words else narrows


def _asked(kind: Kind, wanted: Any) -> dict[str, Any]:
    """Return the filters of a query as arguments of `Store.page`."""
    told = {name: value for name in _narrows(kind) if (value := getattr(wanted, name)) is not None}
    find = told.pop("find", None) if kind.words else None
    return {"where": told, "find": find}


def _query(kind: Kind, name: str, **more: Any) -> Any:
    fields = {**more, **_narrows(kind)}
    return create_model(f"{kind.form.__name__}{name}", __config__=ConfigDict(extra="forbid"), **fields)


def _lists(api: APIRouter, database: Database, kind: Kind) -> None:
    limit = (Annotated[int, Query(ge=1, le=500)], 100)
    wanted = _query(kind, "Query", after=(RecordId | None, None), limit=limit)

    def page(wanted: Any) -> dict[str, Any]:
        asked = _asked(kind, wanted)
        items = records.page(database, kind.name, after=wanted.after, limit=wanted.limit, **asked)
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


def _tables(api: APIRouter, database: Database, kind: Kind) -> None:
    wanted = _query(kind, "TableQuery")

    def table(wanted: Any) -> Response:
        text = records.table_csv(database, kind.name, **_asked(kind, wanted))
        return Response(
            text.encode(),
            media_type="text/csv; charset=utf-8",
            headers={"content-disposition": f'attachment; filename="{kind.name}.csv"'},
        )

    api.get(
        f"/{kind.name}.csv",
        response_class=Response,
        responses={200: {"content": {"text/csv": {"schema": {"type": "string"}}}}, **documented(422)},
        summary=f"Tabulate {kind.name}",
        description="One line for each record that is not deleted; names stand beside the ids of references.",
        operation_id=f"table_of_{kind.name}",
        tags=[kind.name],
    )(_typed(table, wanted=Annotated[wanted, Query()]))


def _files(api: APIRouter, database: Database, kind: Kind, kept: KeptFile) -> None:
    def read_file(record_id: Id) -> Response:
        name, content = records.kept_file(database, kind.name, record_id)
        return Response(
            content,
            media_type="application/octet-stream",
            headers={"content-disposition": f'attachment; filename="{name}"'},
        )

    api.get(
        f"/{kind.name}/{{record_id}}/file",
        response_class=Response,
        responses={200: {"content": _BYTES}, **documented(404, 422)},
        summary=f"Read one {_called(kind)}'s file, byte by byte as it came",
        operation_id=f"read_file_of_{kind.name}",
        tags=[kind.name],
    )(read_file)
    if kind.by_hand:
        _takes_files(api, database, kind)


def _takes_files(api: APIRouter, database: Database, kind: Kind) -> None:
    told = {
        name: (info.annotation, info)
        for name, info in kind.form.model_fields.items()
        if name not in ("size_bytes", "sha256")
    }
    wanted = create_model(
        f"{kind.form.__name__}FileQuery",
        __config__=ConfigDict(extra="forbid"),
        **told,  # type: ignore[call-overload]
    )

    async def keep(record_id: Id, wanted: Any, request: Request, response: Response) -> dict[str, Any]:
        content = await request.body()
        fields = wanted.model_dump(exclude_unset=True)
        put = await in_turn(records.keep_with_file, database, kind.name, record_id, content, fields)
        return _answered(put, response)

    model = stored_model(kind)
    api.put(
        f"/{kind.name}/{{record_id}}/file",
        response_model=model,
        response_model_exclude_unset=True,
        responses=_stored(model, 404, 409, 413, 422, 503, 507),
        openapi_extra={"requestBody": {"required": True, "content": _BYTES}},
        summary=f"Create one {_called(kind)} with its file, which is the body",
        operation_id=f"keep_file_of_{kind.name}",
        tags=[kind.name],
    )(_typed(keep, wanted=Annotated[wanted, Query()]))


def _stored(model: type[BaseModel], *problems: int) -> dict[int | str, dict[str, Any]]:
    """Return the responses of a route that keeps a record, for its OpenAPI entry."""
    created = {"model": model, "description": "Created", "headers": ETAG}
    return {200: {"headers": ETAG}, 201: created, **documented(*problems)}


def _answered(put: Put, response: Response) -> Record:
    """Return a kept record, and set the status and ETag of the response."""
    response.status_code = 201 if put.created else 200
    response.headers["ETag"] = f'"{put.record["version"]}"'
    return put.record


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
        summary=f"Read one {_called(kind)}",
        operation_id=f"read_{kind.name}",
        tags=[kind.name],
    )(read)


def _writes(api: APIRouter, database: Database, kind: Kind) -> None:
    def write(record_id: Id, form: Form, response: Response, if_match: IfMatch = None) -> dict[str, Any]:
        based_on = int(if_match.strip('"')) if if_match else None
        put = records.save(database, kind.name, record_id, form, based_on=based_on)
        return _answered(put, response)

    model = stored_model(kind)
    api.put(
        f"/{kind.name}/{{record_id}}",
        response_model=model,
        response_model_exclude_unset=True,
        responses=_stored(model, 409, 412, 413, 422, 503, 507),
        summary=f"Create or change one {_called(kind)}",
        description="A new record needs no If-Match; a change names the version it is based on. The same "
        "request twice leaves one record and gives the same answer.",
        operation_id=f"write_{kind.name}",
        tags=[kind.name],
    )(writes(_typed(write, form=kind.form)))


def _deletes(api: APIRouter, database: Database, kind: Kind) -> None:
    def delete(record_id: Id, if_match: IfMatch = None) -> Deleted:
        based_on = int(if_match.strip('"')) if if_match else None
        return Deleted(deletion_id=records.remove(database, kind.name, record_id, based_on=based_on))

    api.delete(
        f"/{kind.name}/{{record_id}}",
        responses=documented(404, 412, 422, 503, 507),
        summary=f"Delete one {_called(kind)} with what belongs to it; can be undone",
        operation_id=f"delete_{kind.name}",
        tags=[kind.name],
    )(writes(delete))


def _deletions(api: APIRouter, database: Database) -> None:
    @api.get("/deletions", responses=documented(422), tags=["deletions"])
    def list_deletions(limit: Limit = 100) -> list[Deletion]:
        """List the latest deletions, newest first."""
        return records.deletions(database, limit)

    @api.post(
        "/deletions/{deletion_id}/undo", responses=documented(404, 409, 422, 503, 507), tags=["deletions"]
    )
    @writes
    def undo_deletion(deletion_id: Id) -> dict[str, Any]:
        """Restore what a deletion removed; return the record that was deleted."""
        return records.undo(database, deletion_id)
