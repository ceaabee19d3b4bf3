"""What axe-core (the W3C's rules for WCAG 2.2 A and AA, and best practice) finds on a page."""

from __future__ import annotations

from pathlib import Path

from playwright.sync_api import Page

AXE = Path(__file__).parents[1] / "frontend" / "node_modules" / "axe-core" / "axe.min.js"
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
# Every rule is run; what it found in order is not written down, which takes longer than looking.
RUN = """async (rules) => {
    const told = await axe.run({runOnly: rules, resultTypes: ['violations']})
    return told.violations.flatMap((rule) => rule.nodes.map((node) => [rule.id, node.html]))
}"""


def axe(page: Page) -> list[str]:
    """Return each rule that is broken, with the element; it is run by the driver, past the page's policy."""
    if not page.evaluate("'axe' in window"):
        page.evaluate(AXE.read_text(encoding="utf-8"))
    return [f"{rule}: {html[:120]}" for rule, html in page.evaluate(RUN, RULES)]
