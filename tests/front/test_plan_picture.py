"""A photo under the plan: dropped in the Ground part, laid by two known points, dimmed, taken away and had back."""

from __future__ import annotations

import re
from io import BytesIO

import numpy as np
from PIL import Image
from playwright.sync_api import expect

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
    # What is drawn shows the two places of the picture where they were pressed on the plan, in metres.
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
