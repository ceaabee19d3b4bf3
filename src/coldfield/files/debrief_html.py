"""The debrief document as one self-contained HTML page: no other file, no network."""

from __future__ import annotations

import base64
import hashlib
import html
import json
import re
from collections.abc import Mapping
from importlib import resources

from coldfield.errors import BadInput, Refused, UnknownRecord

_POLICY_MARK = '<meta name="coldfield-policy" />'
_DOCUMENT_MARK = '<script type="application/json" id="debrief-document"></script>'
LANGUAGES = ("en", "de")
"""Languages the page has words in."""

_TITLE_MARK = "<title>Debrief</title>"
_SCRIPT = re.compile(r'<script type="module">(.*?)</script>', re.DOTALL)
_STYLE = re.compile(r"<style>(.*?)</style>", re.DOTALL)


def debrief_html(document: Mapping[str, object], template: str | None = None, *, language: str = "en") -> str:
    """Return a page that shows a debrief document, with everything it needs inside itself.

    The document is embedded as data that no name or note in it can break out of, and the page's own
    content policy lets only its own script and style act: each by its hash, nothing from elsewhere.

    Parameters
    ----------
    document : mapping
        The debrief document, as `coldfield debrief --json` prints it; every number finite.
    template : str, optional
        The built page; by default the one that stands in the package.
    language : str
        The language of its words, one of `LANGUAGES`.

    Returns
    -------
    str
        The HTML text; it can always be written as UTF-8.

    Raises
    ------
    UnknownRecord
        If the page has not been built into the package.
    Refused
        If the template is not a built debrief page.
    BadInput
        If there are no words in that language, or the document holds a number that is not finite or
        a value that JSON has no form for.

    Examples
    --------
    >>> page = debrief_html(
    ...     {"title": "Two </script> below"},
    ...     template='<meta name="coldfield-policy" /><title>Debrief</title><style>p{}</style>'
    ...     '<script type="application/json" id="debrief-document"></script>'
    ...     '<script type="module">1</script>',
    ... )
    >>> page.count("</script>")
    2
    """
    if language not in LANGUAGES:
        raise BadInput(f"language: '{language[:20]}' is none of {', '.join(LANGUAGES)}")
    page = _built_page() if template is None else template.replace("\r\n", "\n")
    page = page.replace('<html lang="en">', f'<html lang="{language}">', 1)
    for mark, filled in (
        (_POLICY_MARK, _policy(page)),
        (_TITLE_MARK, f"<title>{_title(document)}</title>"),
        (_DOCUMENT_MARK, _embedded(document)),
    ):
        before, found, after = page.partition(mark)
        if not found or mark in after:
            raise Refused("the template is not a built debrief page: build it with `make front`")
        page = before + filled + after
    return page


def _built_page() -> str:
    page = resources.files("coldfield").joinpath("web", "static", "debrief.html")
    if not page.is_file():
        raise UnknownRecord("the debrief page has not been built yet: run `make front` once, then ask again")
    return page.read_text(encoding="utf-8").replace("\r\n", "\n")


def _title(document: Mapping[str, object]) -> str:
    title = document.get("title")
    text = title if isinstance(title, str) and title.strip() else "Debrief"
    # Half a surrogate pair has no form in UTF-8; the page must still be written.
    return html.escape(text.encode("utf-8", "replace").decode("utf-8"))


def _embedded(document: Mapping[str, object]) -> str:
    try:
        text = json.dumps(document, allow_nan=False, separators=(",", ":"))
    except (TypeError, ValueError) as error:
        raise BadInput(f"the debrief cannot be written as JSON: {error}") from error
    for sign in "<>&":
        text = text.replace(sign, f"\\u{ord(sign):04x}")
    return _DOCUMENT_MARK.replace("></", f">{text}</")


def _policy(page: str) -> str:
    scripts = " ".join(_hash(found) for found in _SCRIPT.findall(page)) or "'none'"
    styles = " ".join(_hash(found) for found in _STYLE.findall(page)) or "'none'"
    rules = (
        "default-src 'none'",
        f"script-src {scripts}",
        f"style-src {styles}",
        "font-src data:",
        "img-src data:",
        "base-uri 'none'",
        "form-action 'none'",
    )
    return f'<meta http-equiv="Content-Security-Policy" content="{"; ".join(rules)}" />'


def _hash(text: str) -> str:
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"
