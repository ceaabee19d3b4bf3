"""The same sheet as a page for the phone: one file, nothing loaded from elsewhere."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from typing import Any

from coldfield.paper.drawing import svg
from coldfield.paper.press import Block
from coldfield.pictures.style import TOKENS
from coldfield.words import languages
from coldfield.words.saying import spoken_now

_STYLE = """
body{margin:0 auto;max-width:44rem;padding:12px 16px 48px;font:16px/1.45 system-ui,sans-serif;
background:%(sheet)s;color:%(ink)s}
h1{font-size:28px;line-height:1.2;margin:8px 0}h2{font-size:20px;margin:28px 0 8px}
svg{width:100%%;height:auto;touch-action:pinch-zoom}.s{color:%(quiet)s}.b{font-weight:700}
.scroll{overflow-x:auto}table{border-collapse:collapse;width:100%%;font-size:15px}
th{font-size:14px;font-weight:400;color:%(quiet)s;text-align:left;vertical-align:bottom}
td,th{padding:8px 10px 8px 0;border-bottom:1px solid %(hair)s;vertical-align:top}
td small{display:block;color:%(quiet)s;font-size:14px}li{margin:6px 0}
input[type=checkbox]{width:28px;height:28px}
"""
_POLICY = "default-src 'none'; style-src 'unsafe-inline'"


def phone_page(blocks: Sequence[Block], *, title: str) -> str:
    """Return a whole HTML page of the blocks, without any script."""
    body = "\n".join(_html(block) for block in blocks)
    tag = languages()[spoken_now()].locale
    style = _STYLE % TOKENS["light"]
    return (
        f'<!doctype html>\n<html lang="{tag}"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f'<meta http-equiv="Content-Security-Policy" content="{_POLICY}">'
        f"<title>{escape(title)}</title><style>{style}</style></head>\n<body>{body}</body></html>\n"
    )


def _html(block: Block) -> str:
    kind = block["kind"]
    if kind == "title":
        sub = f'<p class="s">{escape(block["sub"])}</p>' if block["sub"] else ""
        return f"<h1>{escape(block['text'])}</h1>{sub}"
    if kind == "heading":
        return f"<h2>{escape(block['text'])}</h2>"
    if kind == "text":
        return f"<p{' class=b' if block['bold'] else ''}>{escape(block['text'])}</p>"
    if kind == "list":
        return "<ul>" + "".join(f"<li>{escape(one)}</li>" for one in block["items"]) + "</ul>"
    if kind == "table":
        head = "".join(f'<th scope="col">{escape(one)}</th>' for one in block["head"])
        rows = "".join(
            "<tr>" + "".join(_cell(one, block["head"][k]) for k, one in enumerate(row)) + "</tr>"
            for row in block["rows"]
        )
        inside = f"<table><thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table>"
        return f'<div class="scroll" tabindex="0">{inside}</div>'
    if kind == "drawing":
        return svg(block)
    if kind in ("side", "keep"):
        parts = block["parts"] if kind == "side" else [block["parts"]]
        return "".join(_html(one) for part in parts for one in part)
    return ""


def _cell(value: Any, column: str) -> str:
    if value is None:
        return "<td></td>"
    if value == "[]":
        return f'<td><input type="checkbox" aria-label="{escape(column)}"></td>'
    if isinstance(value, dict) and "blanks" in value:
        return "<td></td>"
    if isinstance(value, dict):
        under = f"<small>{escape(value['under'])}</small>" if value.get("under") else ""
        return f"<td>{escape(value['text'])}{under}</td>"
    return f"<td>{escape(value)}</td>"
