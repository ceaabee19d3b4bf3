"""Read what a page has copied from the clipboard."""

from __future__ import annotations

import io
import re

from PIL import Image
from playwright.sync_api import Page, expect

CLIPBOARD = ["clipboard-read", "clipboard-write"]
"""The browser permissions for this."""

PICTURE = """async () => {
  const [item] = await navigator.clipboard.read()
  return Array.from(new Uint8Array(await (await item.getType('image/png')).arrayBuffer()))
}"""


def copied(page: Page, what: str, of: str) -> None:
    """Copy the picture or the data of the chart or plan whose name begins with a text."""
    page.get_by_role("button", name=re.compile(f"^{re.escape(f'{what}: {of}')}")).click()
    expect(page.get_by_text("Copied.").first).to_be_visible()


def copied_picture(page: Page) -> Image.Image:
    """Return the picture that was copied last."""
    return Image.open(io.BytesIO(bytes(page.evaluate(PICTURE)))).convert("RGB")
