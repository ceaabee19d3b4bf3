"""Drop files on a page, as from a desktop folder."""

from __future__ import annotations

import base64

from playwright.sync_api import Page

HOLD = """(files) => {
    const data = new DataTransfer()
    for (const [name, text] of files)
        data.items.add(new File([Uint8Array.from(atob(text), (one) => one.charCodeAt(0))], name))
    return data
}"""
PREVENTED = """([held, at]) => ['dragover', 'drop'].map((kind) => {
    const event = new DragEvent(kind, {dataTransfer: held, bubbles: true, cancelable: true})
    document.querySelector(at).dispatchEvent(event)
    return event.defaultPrevented
})"""


def dropped(page: Page, *files: tuple[str, bytes], at: str = "main") -> None:
    """Drop files as from a desktop folder; the browser must leave them to the page."""
    held = page.evaluate_handle(HOLD, [[name, base64.b64encode(data).decode()] for name, data in files])
    assert page.evaluate(PREVENTED, [held, at]) == [True, True]
