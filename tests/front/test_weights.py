"""The weight of each page as sent, and the presence of its words when they are shown."""

from __future__ import annotations

import re
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from coldfield.words import catalogue
from visiting import Visiting

MOST_KB = {"/": 116, "/drills/demo-drill": 200, "/runs/demo-run?step=debrief": 365, "/kit": 130}
"""The limits have a small margin; the weight of a debrief's page includes its document."""

ONLY_THIS_PAGE = """{
  const later = setTimeout
  window.setTimeout = (task, wait, ...given) => later(task, wait === 3000 ? 2 ** 30 : wait, ...given)
}"""
"""Keep the app from loading its other pages after three seconds."""

WATCH = """(keys) => {
  const known = new Set(keys)
  window.bare = []
  const look = (text) => { if (known.has(text.trim())) window.bare.push(text.trim()) }
  const read = (node) => {
    if (node.nodeType === Node.TEXT_NODE) look(node.data)
    else if (node.nodeType === Node.ELEMENT_NODE) {
      for (const name of ['aria-label', 'title', 'placeholder']) look(node.getAttribute(name) ?? '')
      node.childNodes.forEach(read)
    }
  }
  new MutationObserver((changes) => changes.forEach(({ type, target, attributeName, addedNodes }) => {
    if (type === 'characterData') look(target.data)
    if (type === 'attributes') look(target.getAttribute(attributeName) ?? '')
    addedNodes.forEach(read)
  })).observe(document, { subtree: true, childList: true, characterData: true, attributes: true })
}"""
"""Record every text of the page that is a key instead of its words."""

COUNT = """() => {
  const ask = window.fetch
  window.asked = 0
  window.fetch = (...given) => {
    window.asked += 1
    return ask(...given).finally(() => { window.asked -= 1 })
  }
}"""
"""Remember how many questions to the service are still open."""

SETTLED = """() => {
  const now = performance.getEntriesByType('resource').length
  const same = now === window.before && window.asked === 0
  window.before = now
  return same
}"""

KEPT = """() => {
  const files = performance.getEntriesByType('resource').map((one) => one.name).filter((name) => /assets|words.+[/]/.test(name))
  return Promise.all(files.map((name) => fetch(name).then((answer) => answer.headers.get('cache-control'))))
}"""
"""How long the browser may cache the files of the page."""


def own_kb(page: Page) -> float:
    """Return what was sent to the page in total, kB."""
    page.wait_for_function(SETTLED, polling=700)
    every: list[dict[str, Any]] = page.evaluate("performance.getEntries().map((one) => one.toJSON())")
    return (
        sum(
            one.get("encodedBodySize", 0)
            for one in every
            if "hearing" not in one["name"] and not re.search("/(jobs|minutes|strips)", one["name"])
        )
        / 1000
    )


@pytest.mark.parametrize("address", MOST_KB)
def test_contract_a_page_weighs_little_and_shows_words_never_keys(
    fresh_site: str, visit: Visiting, address: str
) -> None:
    visited = visit(fresh_site)
    visited.context.add_init_script(ONLY_THIS_PAGE)
    visited.context.add_init_script(f"({COUNT})()")
    visited.context.add_init_script(f"({WATCH})({list(catalogue('en'))})")
    page = visited.open(address)
    expect(page.get_by_role("heading", level=1).first).to_be_visible()
    assert 0.6 * MOST_KB[address] < own_kb(page) < MOST_KB[address]
    assert page.evaluate("window.bare") == []
    kept = page.evaluate(KEPT)
    assert len(kept) > 8
    assert all("immutable" in one for one in kept)
