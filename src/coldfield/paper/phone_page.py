"""A sheet as a page for the phone: one file that loads nothing from elsewhere."""

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
:root{color-scheme:light dark;%(light)s}
@media (prefers-color-scheme:dark){:root{%(dark)s}}
body{margin:0 auto;max-width:44rem;padding:12px 16px 48px;font:16px/1.45 system-ui,sans-serif;
background:var(--sheet);color:var(--ink);overflow-wrap:break-word}
h1{font-size:28px;line-height:1.2;margin:8px 0}h2{font-size:20px;margin:28px 0 8px}
svg{display:block;width:100%%;height:auto;touch-action:pinch-zoom;background:%(plan)s}
.s{color:var(--quiet)}.b{font-weight:700}.scroll{overflow-x:auto}
table{border-collapse:collapse;width:100%%;font-size:15px;overflow-wrap:normal}
th{font-size:14px;font-weight:400;color:var(--quiet);text-align:left;vertical-align:bottom}
td,th{padding:8px 14px 8px 0;border-bottom:1px solid var(--hair);vertical-align:top}
td{min-width:4.5em}td:first-child{min-width:1em}
td small{display:block;color:var(--quiet);font-size:14px}ul{padding-left:20px}li{margin:6px 0}
input[type=checkbox]{width:28px;height:28px}
"""
_POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:"


def phone_page(blocks: Sequence[Block], *, title: str) -> str:
    """Return a whole HTML page of the blocks, without any script."""
    body = "\n".join(_html(block) for block in _for_a_screen(blocks))
    tag = languages()[spoken_now()].locale
    colours = {name: ";".join(f"--{k}:{v}" for k, v in TOKENS[name].items()) for name in ("light", "dark")}
    # Plan and code stay dark on light: phones need this to read the code, and the plan is for paper.
    style = _STYLE % {**colours, "plan": TOKENS["light"]["sheet"]}
    return (
        f'<!doctype html>\n<html lang="{tag}"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f'<meta http-equiv="Content-Security-Policy" content="{_POLICY}">'
        f"<title>{escape(title)}</title><style>{style}</style></head>\n<body>{body}</body></html>\n"
    )


def _for_a_screen(blocks: Sequence[Block]) -> list[Block]:
    """Leave out columns and tables (with their heading) that are only for writing by hand."""
    kept: list[Block] = []
    for block in blocks:
        if block["kind"] != "table":
            kept.append(block)
            continue
        rows = block["rows"]
        read = [k for k in range(len(block["head"])) if not rows or any(not _by_hand(row[k]) for row in rows)]
        if read:
            head = [block["head"][k] for k in read]
            kept.append({**block, "head": head, "rows": [[row[k] for k in read] for row in rows]})
        elif kept and kept[-1]["kind"] == "heading":
            kept.pop()
    return kept


def _by_hand(value: Any) -> bool:
    return value is None or (isinstance(value, dict) and "blanks" in value)


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
    if _by_hand(value):
        return "<td></td>"
    if value == "[]":
        return f'<td><input type="checkbox" aria-label="{escape(column)}"></td>'
    if isinstance(value, dict):
        under = f"<small>{escape(value['under'])}</small>" if value.get("under") else ""
        return f"<td>{escape(value['text'])}{under}</td>"
    return f"<td>{escape(value)}</td>"
