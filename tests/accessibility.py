"""Check a page with axe-core (rules for WCAG 2.2 A and AA, and best practice)."""

from __future__ import annotations

from pathlib import Path

from playwright.sync_api import Page

AXE = Path(__file__).parents[1] / "frontend" / "node_modules" / "axe-core" / "axe.min.js"
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
# Every rule is run; passes are not recorded, because that takes longer than the checks.
RUN = """async (rules) => {
    const told = await axe.run({runOnly: rules, resultTypes: ['violations']})
    return told.violations.flatMap((rule) => rule.nodes.map((node) => [rule.id, node.html]))
}"""


def axe(page: Page) -> list[str]:
    """Return each broken rule with its element; the driver runs it despite the page's policy."""
    if not page.evaluate("'axe' in window"):
        page.evaluate(AXE.read_text(encoding="utf-8"))
    return [f"{rule}: {html[:120]}" for rule, html in page.evaluate(RUN, RULES)]
