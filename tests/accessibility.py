"""What axe-core (the W3C's rules for WCAG 2.2 A and AA, and best practice) finds on a page."""

from __future__ import annotations

from pathlib import Path

from playwright.sync_api import Page

AXE = Path(__file__).parents[1] / "frontend" / "node_modules" / "axe-core" / "axe.min.js"
RULES = "['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice']"


def axe(page: Page) -> list[str]:
    """Return each rule that is broken, with the element; it is run by the driver, past the page's policy."""
    page.evaluate(AXE.read_text(encoding="utf-8"))
    found = page.evaluate(f"axe.run({{runOnly: {RULES}}})")
    return [f"{rule['id']}: {node['html'][:120]}" for rule in found["violations"] for node in rule["nodes"]]
