"""A photo under the plan: dropped, placed by two known points, dimmed, removed, restored; under a debrief."""

from __future__ import annotations

import re
from io import BytesIO

import numpy as np
from PIL import Image
from playwright.sync_api import expect

from clipboard import CLIPBOARD, copied, copied_picture
from drill_records import asked, new_drill
from visiting import Visiting


def photo() -> bytes:
    out = BytesIO()
    Image.linear_gradient("L").resize((400, 300)).convert("RGB").save(out, "JPEG")
    return out.getvalue()


def test_contract_a_photo_is_laid_by_known_points_on_the_plan(visit: Visiting, site: str) -> None:
    drill_id = new_drill(site, name="With a photo")
    page = visit().open(f"/drills/{drill_id}?part=ground")
    field = page.locator('input[type="file"][accept*=".png"]')
    field.set_input_files([{"name": "bowl.jpg", "mimeType": "image/jpeg", "buffer": photo()}])
    inside = page.locator(".inside img")
    expect(inside).to_be_visible()
    sheet = page.locator("[data-sheet]")
    for share, (x, y) in ((0.1, (150, 200)), (0.9, (450, 260))):
        inside.scroll_into_view_if_needed()
        box = inside.bounding_box()
        assert box is not None
        page.mouse.click(box["x"] + share * box["width"], box["y"] + 0.5 * box["height"])
        expect(page.get_by_role("status").filter(has_text=re.compile("Now press the place"))).to_be_visible()
        sheet.click(position={"x": x, "y": y})
    image = page.locator("image[data-picture]")
    expect(image).to_be_attached()
    (kept,) = asked(site, f"pictures?drill_id={drill_id}")["items"]
    assert (kept["placed_by"], kept["residual_m"], len(kept["points"])) == ("points", None, 2)
    # The drawing shows the two points of the picture where they were pressed on the plan, in metres.
    seen = image.evaluate(
        "(one, pixels) => { const m = one.transform.baseVal.consolidate().matrix;"
        " return pixels.map(([x, y]) => { const p = new DOMPoint(x, y).matrixTransform(m); return [p.x, p.y] }) }",
        [one["pixel"] for one in kept["points"]],
    )
    np.testing.assert_allclose(seen, [one["position_m"] for one in kept["points"]], atol=0.001)
    (ax, _), (bx, _) = (one["position_m"] for one in kept["points"])
    assert ax < bx
    page.get_by_label("Strength").fill("0.3")
    expect(image).to_have_attribute("opacity", "0.3")
    page.get_by_role("button", name="Remove the picture").click()
    expect(image).to_have_count(0)
    page.get_by_role("button", name="Undo", exact=True).last.click()
    expect(image).to_be_attached()


def test_contract_a_picture_of_the_ground_lies_under_the_debrief_and_is_copied_with_it(
    fresh_site: str, visit: Visiting
) -> None:
    page = visit(fresh_site, permissions=CLIPBOARD).open("/drills/demo-drill")
    address = f"{fresh_site}/api/drills/demo-drill/pictures/the-photo?file_name=bowl.jpg"
    assert page.request.put(address, data=photo()).ok
    known = [{"pixel": [0, 300], "position_m": [0, 0]}, {"pixel": [400, 0], "position_m": [100, 90]}]
    told = page.request.put(
        f"{fresh_site}/api/pictures/the-photo",
        data={"points": known, "shown": 1.0},
        headers={"if-match": '"1"'},
    )
    assert told.ok, told.text()
    sheet = page.request.get(fresh_site + "/drills/demo-drill/setup.pdf")
    assert b"/DCTDecode" in sheet.body(), "it is printed under the plan of the setup sheet"
    page.goto(fresh_site + "/runs/demo-run?step=debrief")
    image = page.locator("image[data-picture]")
    expect(image).to_be_attached()
    expect(image).to_have_attribute("href", "/api/pictures/the-photo/file")
    copied(page, "Copy picture", "Plan of")
    shades = {
        red // 8
        for _, (red, green, blue) in copied_picture(page).getcolors(1 << 22) or []
        if red == green == blue
    }
    assert len(shades) > 15, "the greys of the photo are in what was copied"
    opacity = page.locator("path.swept").evaluate("(one) => getComputedStyle(one).fillOpacity")
    assert float(opacity) < 0.7, "swept ground lets the picture through"
    page.goto(fresh_site + "/debriefs/demo-debrief")
    carried = page.locator("image[data-picture]")
    expect(carried).to_have_attribute("href", re.compile("^data:image/webp;base64,"))
    assert carried.get_attribute("width") == "400"
