"""The debrief document as one self-contained HTML page: no other file, no network."""

from __future__ import annotations

import html

from coldfield.debrief.document import DebriefDocument
from coldfield.errors import BadInput
from coldfield.files.carried_picture import IN_A_PAGE, Under, carried
from coldfield.files.debrief_json import debrief_value
from coldfield.files.one_page import POLICY_MARK, built_page, embedded, filled, policy
from coldfield.files.page_words import words_mark
from coldfield.message import message
from coldfield.words import languages

_DOCUMENT_MARK = '<script type="application/json" id="debrief-document"></script>'
_PICTURE_MARK = '<script type="application/json" id="debrief-picture"></script>'
_TITLE_MARK = "<title>Debrief</title>"


def debrief_html(
    document: DebriefDocument,
    template: str | None = None,
    *,
    language: str = "en",
    under: Under | None = None,
) -> str:
    """Return a page that shows a debrief document and contains everything it needs.

    The document is embedded as data, so that no name or note can break out of it. The page's own content
    security policy allows only its own script and style, each by its hash, and nothing from elsewhere.

    Parameters
    ----------
    document : DebriefDocument
        The debrief.
    template : str, optional
        The built page; by default the one in the package.
    language : str
        The language of its words, a tag of `coldfield.words.languages`.
    under : Under, optional
        The picture of the ground under the plan; cut to the ground and made no larger than `IN_A_PAGE`.

    Returns
    -------
    str
        The HTML text, which can always be encoded as UTF-8.

    Raises
    ------
    UnknownRecord
        If the page has not been built into the package.
    Refused
        If the template is not a built debrief page.
    BadInput
        If there are no words in that language, or if the debrief has no ground.

    Examples
    --------
    >>> from coldfield.debrief.document import DebriefedSite
    >>> ground = DebriefedSite(boundary_m=((0, 0), (9, 0), (9, 9)))
    >>> page = debrief_html(
    ...     DebriefDocument(title="Two </script> below", site=ground),
    ...     template='<meta name="coldfield-policy" /><title>Debrief</title><style>p{}</style>'
    ...     '<script type="application/json" id="words" data-parts="figures"></script>'
    ...     '<script type="application/json" id="debrief-document"></script>'
    ...     '<script type="module">1</script>',
    ... )
    >>> page.count("</script>")
    3
    """
    if language not in languages():
        known = tuple(languages())
        raise BadInput(message("fault.no_language", language=language[:20], known=known).at("language"))
    if document.site is None:
        raise BadInput(message("fault.no_ground_to_show").at("site"), "debrief")
    page = built_page("debrief.html", "debrief") if template is None else template.replace("\r\n", "\n")
    page = page.replace('<html lang="en">', f'<html lang="{language}">', 1)
    value = debrief_value(document)
    marks = (
        (POLICY_MARK, policy(page)),
        (_TITLE_MARK, f"<title>{_title(document)}</title>"),
        words_mark(page, [language], "debrief", value),
        (_DOCUMENT_MARK, embedded(_DOCUMENT_MARK, value, "debrief") + _below(document, under)),
    )
    return filled(page, marks, "debrief")


def _below(document: DebriefDocument, under: Under | None) -> str:
    """The picture of the ground as data beside the document; '' where there is none to show."""
    if under is None or document.site is None:
        return ""
    picture = carried(under, document.site.boundary_m, IN_A_PAGE)
    return "" if picture is None else embedded(_PICTURE_MARK, picture.model_dump(), "debrief")


def _title(document: DebriefDocument) -> str:
    text = document.title if document.title.strip() else "Debrief"
    # A lone surrogate cannot be encoded in UTF-8; the page must still be written.
    return html.escape(text.encode("utf-8", "replace").decode("utf-8"))
