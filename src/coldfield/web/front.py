"""The app in the browser: its page at all its addresses, its files under /app/."""

from __future__ import annotations

import gzip
import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from functools import cache
from hashlib import sha256
from importlib.resources import files
from importlib.resources.abc import Traversable
from mimetypes import guess_type

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from coldfield.errors import UnknownRecord
from coldfield.files.clock_page import clock_html, codes_html, codes_reader
from coldfield.files.one_page import policy_of
from coldfield.message import message
from coldfield.records.kinds import KINDS
from coldfield.web.licences import licences_text
from coldfield.words import Language, catalogue, languages
from coldfield.words.languages import Entry

FOR_GOOD = "public, max-age=31536000, immutable"
"""File names contain a checksum, so a file never changes."""

OTHER_PAGES = ("/coach", "/propose")
"""Pages of the app that belong to no kind of record."""

MOST_SHOWN = 80
"""Characters of an unknown file's name that are repeated in the answer. Setting."""

JSON = "application/json"
_PACKED = {"text/html", "text/css", "text/javascript", "application/javascript", "text/plain"}


@dataclass(frozen=True, slots=True)
class Content:
    """A response body by the name of its encoding, uncompressed and compressed, the smallest first."""

    plain: bytes
    media: str
    packed: Mapping[str, bytes] = field(default_factory=dict)


def built() -> bool:
    """Return whether the app was built into this package."""
    return _path("app.html").is_file()


def router() -> APIRouter:
    """Return the routes of the app; if the app was built, the root is its first page."""
    api = APIRouter(include_in_schema=False)
    for kind in KINDS.values():
        if kind.pages != "none":
            api.get(f"/{kind.name}", response_class=HTMLResponse)(app_page)
        if kind.pages == "list and each":
            api.get(f"/{kind.name}/{{record_id}}", response_class=HTMLResponse)(_page_of)
    for page in OTHER_PAGES:
        api.get(page, response_class=HTMLResponse)(app_page)
    api.get("/app/assets/{name}")(asset)
    api.get("/app/licences.txt")(licences)
    api.get("/app/words/languages.json")(offered)
    api.get("/app/words/{name}/{group}.json")(words)
    api.get("/clock", response_class=HTMLResponse)(clock)
    api.get("/clock/codes", response_class=HTMLResponse)(codes)
    api.get("/clock/codes.wasm")(reader)
    return api


def app_page(request: Request) -> Response:
    """Return the page of the app, which is the same at every address; its script reads the address."""
    return _file("app.html", request, "no-store")


def _page_of(request: Request, record_id: str) -> Response:
    return app_page(request)


def lost(request: Request) -> Response | None:
    """Return the app's page with status 404 for a person who opens an unknown address."""
    api = request.url.path.startswith(("/api/", "/app/"))
    if api or request.method != "GET" or "text/html" not in request.headers.get("accept", "") or not built():
        return None
    response = app_page(request)
    response.status_code = 404
    return response


def asset(name: str, request: Request) -> Response:
    """Return one of the app's files."""
    return _file(f"assets/{name}", request, FOR_GOOD)


def licences(request: Request) -> Response:
    """Return the licences of all libraries, with the texts for those in the pages."""
    own = _content("licences.txt")
    return _given(Content(licences_text(own.plain.decode()).encode(), own.media), request, "no-store")


def offered(request: Request) -> Response:
    """Return the languages of the app, each with the base address of its words."""
    there = [{**asdict(one), "address": f"/app/words/{name}"} for name, one in _languages().items()]
    return _given(Content(json.dumps(there).encode(), JSON), request, "no-store")


def words(name: str, group: str, request: Request) -> Response:
    """Return some words of a language: those that a page needs, or all whose codes have the same first part.

    `name` is the one from `offered`; an unknown group is empty.
    """
    if name not in _languages():
        raise UnknownRecord(message("fault.words_changed"))
    return _given(_words(_languages()[name].tag, group), request, FOR_GOOD)


@cache
def _languages() -> Mapping[str, Language]:
    """Return every language by a name that changes with its words and with the groups of the pages."""
    groups = json.dumps(_groups())
    return {
        f"{one.tag}.{_sum(_json(catalogue(one.tag)) + groups.encode())}": one for one in languages().values()
    }


@cache
def _groups() -> Mapping[str, list[str]]:
    """Return the codes that each page needs, which the build of the app collects."""
    path = _path("words.json")
    found: dict[str, list[str]] = json.loads(path.read_text(encoding="utf-8")) if path.is_file() else {}
    return found


@cache
def _words(tag: str, group: str) -> Content:
    there = catalogue(tag)
    codes = _groups().get(group) or sorted(code for code in there if code.split(".")[0] == group)
    return _as_content(_json({code: there[code] for code in codes if code in there}), JSON)


def _json(content: Mapping[str, Entry]) -> bytes:
    return json.dumps(content, ensure_ascii=False, separators=(",", ":")).encode()


def clock(request: Request) -> Response:
    """Return the clock for the phone: one page with its own strict policy, without a run in it."""
    plain, packed, stated = _clock()
    return _page(plain, packed, stated, request)


def codes(request: Request) -> Response:
    """Return the page that reads and shows codes, for the clock and within the app."""
    plain, packed, stated = _codes()
    answer = _page(plain, packed, stated, request)
    answer.headers["permissions-policy"] = "camera=(self)"
    return answer


def reader(request: Request) -> Response:
    """Return the code reader, for the page that uses the camera."""
    return _given(_reader(), request, "no-cache")


def _page(plain: bytes, packed: bytes, stated: str, request: Request) -> Response:
    headers = {"content-security-policy": stated, "vary": "accept-encoding"}
    if "gzip" in request.headers.get("accept-encoding", ""):
        return HTMLResponse(packed, headers={**headers, "content-encoding": "gzip"})
    return HTMLResponse(plain, headers=headers)


@cache
def _clock() -> tuple[bytes, bytes, str]:
    page = clock_html(served=True, codes="/clock/codes")
    return page.encode(), gzip.compress(page.encode(), 9), policy_of(page)


@cache
def _codes() -> tuple[bytes, bytes, str]:
    page = codes_html("/clock")
    return page.encode(), gzip.compress(page.encode(), 9), policy_of(page, framed_by="'self'")


@cache
def _reader() -> Content:
    return _as_content(codes_reader(), "application/wasm")


def _file(name: str, request: Request, kept: str) -> Response:
    return _given(_content(name), request, kept)


def _given(content: Content, request: Request, kept: str) -> Response:
    headers = {"cache-control": kept, "vary": "accept-encoding"}
    taken = {one.split(";")[0].strip() for one in request.headers.get("accept-encoding", "").split(",")}
    for encoding, packed in content.packed.items():
        if encoding in taken:
            return Response(
                packed, media_type=content.media, headers={**headers, "content-encoding": encoding}
            )
    return Response(content.plain, media_type=content.media, headers=headers)


def _as_content(plain: bytes, media: str) -> Content:
    """Return a body with its compressed forms; the brotli form comes from the build, for the same bytes."""
    made = _path(f"packed/{_sum(plain)}.br")
    brotli = {"br": made.read_bytes()} if made.is_file() else {}
    return Content(plain, media, {**brotli, "gzip": gzip.compress(plain, 9)})


def _sum(content: bytes) -> str:
    return sha256(content).hexdigest()[:16]


def _content(name: str) -> Content:
    # Look the name up among the built files, so that no address from outside ever becomes a path.
    if name not in _names():
        inner = name.removeprefix("assets/")
        shown = inner if len(inner) <= MOST_SHOWN else f"{inner[:MOST_SHOWN]}..."
        raise UnknownRecord(message("fault.no_app_file", name=shown))
    return _read(name)


def _names() -> frozenset[str]:
    assets = _path("assets")
    found = [f"assets/{one.name}" for one in assets.iterdir() if one.is_file()] if assets.is_dir() else []
    return frozenset([*found, *(name for name in ("app.html", "licences.txt") if _path(name).is_file())])


@cache
def _read(name: str) -> Content:
    plain, media = _path(name).read_bytes(), guess_type(name)[0] or "application/octet-stream"
    return _as_content(plain, media) if media in _PACKED else Content(plain, media)


def _path(name: str) -> Traversable:
    return files("coldfield.web").joinpath("static", "app", *name.split("/"))
