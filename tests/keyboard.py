"""A person who uses only the keyboard, and checks the focus after every key."""

from __future__ import annotations

import re
from contextlib import suppress

from playwright.sync_api import Page
from playwright.sync_api import TimeoutError as TooLate

from visiting import FRAMES

_NAME = """(one) => {
  const label = one.labels?.[0]?.textContent ?? one.textContent
  return (one.getAttribute('aria-label') ?? label ?? '').replace(/\\s+/g, ' ').trim()
}"""

_LOOK = """() => {
  const at = document.activeElement
  if (!at || at === document.body) return null
  const name = (NAME)(at)
  const box = (at.querySelector('.grip') ?? at).getBoundingClientRect()
  const seen = box.width > 0 && box.bottom > 0 && box.top < innerHeight && box.right > 0 && box.left < innerWidth
  const points = [0.1, 0.3, 0.5, 0.7, 0.9].flatMap((x) => [0.2, 0.5, 0.8].map((y) => [box.left + x * box.width, box.top + y * box.height]))
  const open = points.some(([x, y]) => {
    const top = document.elementFromPoint(x, y)
    return top && (at.contains(top) || top.contains(at) || top.closest('label')?.control === at)
  })
  const style = getComputedStyle(at), grip = at.querySelector('.grip')
  const ringed = (style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) > 0) ||
    (grip && getComputedStyle(grip).stroke !== 'none')
  return { name, tag: at.tagName.toLowerCase(), role: at.getAttribute('role') ?? at.type ?? '', seen, open, ringed: Boolean(ringed) }
}""".replace("NAME", _NAME)


_ON = f"(name) => new RegExp('^(?:' + name + ')').test(({_LOOK})()?.name ?? '')"

_THERE = f"""(name) => [...document.querySelectorAll('a, button, input, select, textarea, summary, [tabindex]')]
  .some((one) => new RegExp('^(?:' + name + ')').test(({_NAME})(one)))"""
"""Whether the page has a thing with this name; until then it is still being built."""


class Keys:
    """Presses keys and moves by Tab; `lost` lists every time the focus could not be seen."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.lost: list[str] = []

    def press(self, *keys: str) -> None:
        """Press keys one after another."""
        for key in keys:
            self.page.keyboard.press(key)
            self.look(key)

    def type(self, text: str) -> None:
        """Replace the text in the focused field."""
        self.page.keyboard.press("Control+a")
        self.page.keyboard.type(text)

    def to(self, name: str, *, back: bool = False, most: int = 90) -> None:
        """Go by Tab to a thing whose name matches a regular expression from its beginning."""
        wanted = re.compile(name)
        passed = []
        with suppress(TooLate):
            self.page.wait_for_function(_THERE, arg=name, timeout=10_000)
        for _ in range(most):
            self.page.keyboard.press("Shift+Tab" if back else "Tab")
            here = self.look(f"Tab to {name}", among_pages=True)
            passed.append(here)
            if wanted.match(here):
                return
        raise AssertionError(f"no way by Tab to {name}: {passed}")

    def on(self, name: str) -> None:
        """Check that the thing with this name has the focus."""
        with suppress(TooLate):
            self.page.wait_for_function(_ON, arg=name)
        here = self.look("on")
        assert re.match(name, here), here

    def look(self, what: str, *, among_pages: bool = False) -> str:
        """Return the name of the focused thing; note if there is none, or it is hidden or unmarked.

        `among_pages`: after the last thing of a page the browser itself has the focus, which is allowed.
        """
        at = self.page.evaluate(_LOOK)
        if at is None:
            # The focused thing may be gone, and its successor not drawn yet.
            self.page.evaluate(FRAMES)
            at = self.page.evaluate(_LOOK)
        if at is None and among_pages:
            return ""
        if at is None:
            self.lost.append(f"{what}: nowhere")
            return ""
        if not (at["seen"] and at["open"]):
            self.lost.append(f"{what}: {at['tag']} {at['name'][:60]} is out of sight or covered")
        if not at["ringed"] and at["tag"] not in ("main", "h1"):
            self.lost.append(f"{what}: {at['tag']} {at['name'][:60]} shows no mark of the focus")
        return str(at["name"])
