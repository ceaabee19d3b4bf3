"""The frame of every page of the app: addresses, language, theme, missing pages."""

from __future__ import annotations

import re
import urllib.request

import pytest
from playwright.sync_api import expect

from accessibility import axe
from visiting import LAPTOP, PHONE, Visiting

PAGES = ["/", "/drills", "/runs", "/courses", "/people", "/coach", "/kit"]


def test_contract_every_page_is_reached_by_its_link_and_the_way_back(visit: Visiting) -> None:
    page = visit().open("/")
    links = page.get_by_role("navigation").get_by_role("link")
    expect(links).to_have_count(len(PAGES))
    for address, link in zip(PAGES, links.all(), strict=True):
        link.click()
        expect(page).to_have_url(re.compile(address + "$"))
        expect(link).to_have_attribute("aria-current", "page")
        expect(page.get_by_role("heading", level=1)).to_be_visible()
    page.go_back()
    expect(page).to_have_url(re.compile("/coach$"))
    expect(page.get_by_role("heading", level=1)).to_be_visible()


@pytest.mark.parametrize("size", [LAPTOP, PHONE])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_published_axe_finds_nothing_to_mend_on_any_page(
    visit: Visiting, size: dict[str, int], scheme: str
) -> None:
    visited = visit(viewport=size, color_scheme=scheme)
    page = visited.open("/")
    for address in PAGES:
        page.goto(visited.site + address)
        expect(page.get_by_role("heading", level=1)).to_be_visible()
        assert axe(page) == [], address
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), address
        page.evaluate("document.documentElement.style.fontSize = '200%'")
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), f"{address}, large type"


def test_contract_a_language_and_a_theme_are_chosen_and_remembered(visit: Visiting) -> None:
    visited = visit(locale="de-AT")
    page = visited.open("/kit")
    expect(page.locator("html")).to_have_attribute("lang", "de")
    expect(page.get_by_role("link", name="Material", exact=True)).to_be_visible()
    page.get_by_role("button", name="Dunkel").click()
    page.get_by_label("Sprache").select_option("English")
    expect(page.locator("html")).to_have_attribute("lang", "en")
    expect(page.get_by_role("link", name="Kit", exact=True)).to_be_visible()
    other = visited.open("/people")
    expect(other.locator("html")).to_have_attribute("lang", "en")
    expect(other.locator("html")).to_have_attribute("data-theme", "dark")


def test_contract_a_service_that_is_gone_is_told_and_found_again(visit: Visiting) -> None:
    visited = visit()
    visited.troubled = True
    page = visited.open("/people")
    expect(page.get_by_role("heading", level=1)).to_be_visible()
    visited.context.set_offline(True)
    page.get_by_role("link", name="Kit").click()
    expect(page.get_by_role("alert")).to_contain_text("Coldfield does not answer")
    expect(page.get_by_role("button", name="Try again")).to_be_visible()
    visited.context.set_offline(False)
    expect(page.get_by_role("table")).to_be_visible()  # loaded again automatically
    expect(page.get_by_text("does not answer")).to_have_count(0)


def test_contract_what_the_app_is_made_of_is_told(visit: Visiting) -> None:
    with urllib.request.urlopen(visit().site + "/app/licences.txt", timeout=10) as answer:
        text = answer.read().decode()
    assert all(
        name in text for name in ("Svelte", "Atkinson Hyperlegible", "openapi-fetch", "numba", "typst")
    )


def test_contract_an_address_that_is_not_there_is_a_page_for_people_and_a_problem_for_programs(
    visit: Visiting,
) -> None:
    visited = visit()
    visited.troubled = True  # an unknown address is a 404
    page = visited.open("/nothing/here")
    expect(page.get_by_role("heading", name="There is nothing here")).to_be_visible()
    assert axe(page) == []
    answer = page.request.get(visited.site + "/nothing/here", headers={"accept": "application/json"})
    assert answer.status == 404
    assert answer.headers["content-type"] == "application/problem+json"


def test_contract_a_zero_is_slashed_only_where_figures_are_typed(visit: Visiting) -> None:
    # Zeros drawn by both fonts as the page uses them: the slash puts ink into the middle of the counter.
    page = visit().open("/drills/demo-drill")
    expect(page.get_by_role("heading", level=1)).to_be_visible()
    middle = page.evaluate(
        """async () => {
          const field = document.createElement('input')
          document.body.append(field)
          const middle = {}
          for (const [name, shown] of [['read', document.body], ['typed', field]]) {
            for (const weight of ['400', '700']) {
              const font = `${weight} 200px ${getComputedStyle(shown).fontFamily}`
              await document.fonts.load(font, '0')
              const canvas = new OffscreenCanvas(200, 200)
              const drawn = canvas.getContext('2d')
              Object.assign(drawn, { font, textAlign: 'center', textBaseline: 'alphabetic' })
              drawn.fillText('0', 100, 180)
              middle[name + weight] = drawn.getImageData(95, 108, 10, 10).data.some((ink) => ink > 0)
            }
          }
          field.remove()
          return middle
        }"""
    )
    assert middle == {"read400": False, "read700": False, "typed400": True, "typed700": True}
