"""A page that contains everything it needs: what is filled into it, and its content security policy."""

from __future__ import annotations

import base64
import hashlib
import json
import re
from collections.abc import Iterable
from html import unescape
from importlib import resources
from typing import Any

from coldfield.errors import BadInput, Refused, UnknownRecord
from coldfield.message import message, verbatim

POLICY_MARK = '<meta name="coldfield-policy" />'
_SCRIPT = re.compile(r'<script type="module">(.*?)</script>', re.DOTALL)
_POLICY = re.compile(r'<meta http-equiv="Content-Security-Policy" content="([^"]*)"')
_STYLE = re.compile(r"<style>(.*?)</style>", re.DOTALL)


def built_page(name: str, what: str) -> str:
    """Return a page built into the package.

    Raises
    ------
    UnknownRecord
        If it has not been built.
    """
    return built_bytes(name, what).decode("utf-8").replace("\r\n", "\n")


def built_bytes(name: str, what: str) -> bytes:
    """Return a file built into the package.

    Raises
    ------
    UnknownRecord
        If it has not been built.
    """
    page = resources.files("coldfield").joinpath("web", "static", name)
    if not page.is_file():
        raise UnknownRecord(message("fault.page_not_built", page=what))
    return page.read_bytes()


def filled(page: str, marks: Iterable[tuple[str, str]], what: str) -> str:
    """Return a page with each mark replaced; each must occur in it exactly once.

    Raises
    ------
    Refused
        If a mark is missing or occurs twice.
    """
    for mark, instead in marks:
        before, found, after = page.partition(mark)
        if not found or mark in after:
            raise not_built(what)
        page = before + instead + after
    return page


def not_built(what: str) -> Refused:
    """Return the error for a template that lacks what a built page has."""
    return Refused(message("fault.not_a_built_page", page=what))


def embedded(mark: str, value: Any, what: str, *, ascii_only: bool = True) -> str:
    """Return an empty script element filled with a value as JSON; no name or note can break out of it.

    ASCII can hold anything that people may have typed, even a lone surrogate; our own texts are
    shorter as they are.

    Raises
    ------
    BadInput
        If the value has a number that is not finite, or something that JSON cannot express.
    """
    try:
        text = json.dumps(value, allow_nan=False, separators=(",", ":"), ensure_ascii=ascii_only)
    except (TypeError, ValueError) as error:
        raise BadInput(message("fault.no_json_form", what=what, why=verbatim(str(error)))) from error
    for sign in "<>&":
        text = text.replace(sign, f"\\u{ord(sign):04x}")
    return mark.replace("></", f">{text}</")


def policy(page: str, *more: str, scripts_too: str = "") -> str:
    """Return the page's own policy: only its scripts and styles by their hashes, and `more`.

    `scripts_too` is what its scripts may do in addition, such as 'wasm-unsafe-eval' for WebAssembly.
    """
    scripts = " ".join([*(_hash(found) for found in _SCRIPT.findall(page)), scripts_too]).strip() or "'none'"
    styles = " ".join(_hash(found) for found in _STYLE.findall(page)) or "'none'"
    rules = (
        "default-src 'none'",
        f"script-src {scripts}",
        f"style-src {styles}",
        "font-src data:",
        *(more or ("img-src data:",)),
        "base-uri 'none'",
        "form-action 'none'",
    )
    return f'<meta http-equiv="Content-Security-Policy" content="{"; ".join(rules)}" />'


def policy_of(page: str, *, framed_by: str = "'none'") -> str:
    """Return the policy that a page states for itself, and who may frame it, for a header."""
    found = _POLICY.search(page)
    stated = unescape(found.group(1)) if found else "default-src 'none'"
    return f"{stated}; frame-ancestors {framed_by}"


def _hash(text: str) -> str:
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"
