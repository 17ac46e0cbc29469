"""The photograph on a telephone: drawn larger until a finger hits one plant, taps taken back, the size kept."""

from __future__ import annotations

import re

import pytest
from PIL import Image

from evenground.web.stands import photos
from tests.stand.scene import Scene, draw
from tests.web.screens.conftest import PHONE

pytestmark = [pytest.mark.needs_chromium, pytest.mark.django_db(transaction=True)]
SIZE_PX = (1000, 800)
FINGER_PX = 44  # a target a finger hits: WCAG 2.2, success criterion 2.5.5


@pytest.fixture
def on_phone(app, make_page, tmp_path):
    """The page that marks the scale, 390 pixels wide."""
    drawn = draw(Scene(leaves=4, width_m=2.0, height_m=1.6, angle_deg=0.0), 30)
    Image.fromarray(drawn.pixels).save(tmp_path / "rows.jpg", quality=92)
    page = make_page(PHONE)
    page.goto(f"{app}stand/photo/")
    page.set_input_files("#file", str(tmp_path / "rows.jpg"))
    page.click("text=Send it")
    page.wait_for_load_state("networkidle")
    return page


def width(page, chosen):
    return page.locator(chosen).evaluate("one => one.clientWidth")


def tap_at(page, chosen, x_px, y_px, offset=0.0, scale=1.0):
    """Tap at a place of the photograph, at whatever size it is shown; the box moves as under a finger."""
    image = page.locator(chosen)
    shown = image.evaluate("one => one.clientWidth / one.naturalWidth")
    image.click(position={"x": (x_px * scale + offset) * shown, "y": (y_px * scale + offset) * shown})


def test_a_larger_picture_gives_the_same_places(on_phone):
    page = on_phone
    small = width(page, "#photo")
    assert page.is_disabled("#smaller")
    for _ in range(4):
        page.click("#larger")
    assert width(page, "#photo") == pytest.approx(4 * small, abs=4)
    assert page.inner_text("#size") == "400 %"
    for x in (100, 600):
        tap_at(page, "#photo", x, 100)
    places = [float(page.input_value(f"#{i}")) for i in ("x1", "y1", "x2", "y2")]
    assert places == pytest.approx([100, 100, 600, 100], abs=1)  # one pixel of the photograph: rounding of a tap
    left, top = (page.locator(".mark").first.evaluate(f"one => parseFloat(one.style.{n})") for n in ("left", "top"))
    assert (left, top) == pytest.approx((10.0, 12.5), abs=0.2)  # in % of the sheet, so that rings grow apart with it
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    assert page.faults == []


def test_one_plant_is_hit_among_its_neighbours_and_the_size_is_kept(on_phone):
    page = on_phone
    for x in (100, 600):
        tap_at(page, "#photo", x, 100)
    page.fill("#distance_m", "1")
    page.click("text=Find the plants")
    page.wait_for_selector("#overlay", timeout=60_000)
    number = int(re.match(r"\d+", page.inner_text("h1")).group())
    page.wait_for_load_state("networkidle")
    looked = next(v for v in photos.LOOKED._values.values() if v.photo.size_px == SIZE_PX)
    plants = looked.found.plants
    wanted = plants[number // 2]
    nearest_px = min(((p.x_px - wanted.x_px) ** 2 + (p.y_px - wanted.y_px) ** 2) ** 0.5 for p in plants if p != wanted)
    while nearest_px * width(page, "#overlay") / SIZE_PX[0] < FINGER_PX and page.is_enabled("#larger"):
        page.click("#larger")
    assert nearest_px * width(page, "#overlay") / SIZE_PX[0] >= FINGER_PX
    large = width(page, "#overlay")
    offset, scale = (float(page.get_attribute("#overlay", f"data-{name}")) for name in ("ruler", "scale"))
    page.check('input[name="tap"][value="remove"]')
    assert page.is_disabled("#back")
    tap_at(page, "#overlay", wanted.x_px, wanted.y_px, offset, scale)
    page.check('input[name="tap"][value="add"]')
    tap_at(page, "#overlay", wanted.x_px, wanted.y_px, offset, scale)
    page.click("#back")  # the second tap was a slip
    assert re.fullmatch(r"remove \d+ \d+", page.input_value("#changes"))
    assert page.locator(".mark").count() == 1
    page.click("text=Look again with these")
    page.wait_for_selector(f"text={number - 1} plants found")
    page.wait_for_load_state("networkidle")
    assert width(page, "#overlay") == pytest.approx(large, abs=4)
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    assert page.faults == []
