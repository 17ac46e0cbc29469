"""Counting from a photograph in a real browser: two taps for the scale, a tap to add a plant, rows stored."""

from __future__ import annotations

import re

import pytest
from PIL import Image

from evenground.web.stands import photos
from evenground.web.trials.store import DatabaseStore
from tests.stand.scene import Scene, draw

pytestmark = [pytest.mark.needs_chromium, pytest.mark.django_db(transaction=True)]


def tap(page, plant, action):
    """Tap on a plant's place in the overlay, as a finger would, at whatever size it is shown."""
    page.check(f'input[name="tap"][value="{action}"]')
    overlay = page.locator("#overlay")
    overlay.scroll_into_view_if_needed()
    ruler, scale = (float(overlay.get_attribute(f"data-{name}")) for name in ("ruler", "scale"))
    shown = overlay.evaluate("one => one.clientWidth / one.naturalWidth")
    overlay.click(position={name: (v * scale + ruler) * shown for name, v in (("x", plant.x_px), ("y", plant.y_px))})


def test_from_the_photograph_to_the_runs(app, make_page, demo_trial, tmp_path):
    drawn = draw(Scene(leaves=4, width_m=2.0, height_m=1.6, angle_deg=0.0), 30)
    Image.fromarray(drawn.pixels).save(tmp_path / "rows.jpg", quality=92)
    page = make_page()
    page.goto(f"{app}stand/photo/")
    page.set_input_files("#file", str(tmp_path / "rows.jpg"))
    page.click("text=Send it")
    page.wait_for_load_state("networkidle")
    box = page.locator("#photo").bounding_box()
    scale = box["width"] / drawn.pixels.shape[1]
    for x in (100, 600):  # half a metre in the scene is 250 pixels, so these are a metre apart
        page.mouse.click(box["x"] + x * scale, box["y"] + 100 * scale)
    assert [round(float(page.input_value(f"#{i}")) / 10) for i in ("x1", "y1", "x2", "y2")] == [10, 10, 60, 10]
    page.fill("#distance_m", "1")
    page.click("text=Find the plants")
    page.wait_for_selector("#overlay", timeout=60_000)
    number = int(re.match(r"\d+", page.inner_text("h1")).group())
    page.wait_for_load_state("networkidle")
    # take out a plant by a tap on its ring, look again, and put it in again by another tap
    looked = next(v for v in photos.LOOKED._values.values() if v.photo.size_px == (1000, 800))
    plant = looked.found.plants[number // 2]
    tap(page, plant, "remove")
    assert re.fullmatch(r"remove \d+ \d+", page.input_value("#changes"))
    page.click("text=Look again with these")
    page.wait_for_selector(f"text={number - 1} plants found")
    page.wait_for_load_state("networkidle")
    tap(page, plant, "add")
    page.click("text=Look again with these")
    page.wait_for_selector(f"text={number} plants found")
    page.wait_for_load_state("networkidle")
    page.select_option('select[name="strip-1"]', "7")
    page.fill("#taken_at", "2026-05-25T10:00")
    before = len(DatabaseStore(demo_trial).records().spacing_runs)
    page.click("text=That is right: store the runs")
    page.wait_for_selector("text=stored.")
    runs = DatabaseStore(demo_trial).records().spacing_runs[before:]
    assert {r.strips for r in runs} == {(7,)}
    assert 2 <= sum(len(r.readings) for r in runs) <= number
    assert {r.note for r in runs} == {"from a photograph; by hand 1 put in, 1 taken out"}
    assert page.faults == []
