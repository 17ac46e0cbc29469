"""Counting from a photograph in a real browser: two taps for the scale, a tap to add a plant, rows stored."""

from __future__ import annotations

import re

import pytest
from PIL import Image

from evenground.web.trials.store import DatabaseStore
from tests.stand.scene import Scene, draw

pytestmark = [pytest.mark.needs_chromium, pytest.mark.django_db(transaction=True)]


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
    page.locator("#overlay").click(position={"x": 300, "y": 200})
    assert re.fullmatch(r"add \d+ \d+", page.input_value("#changes"))
    page.fill("#changes", "")
    page.select_option('select[name="strip-1"]', "7")
    page.fill("#taken_at", "2026-05-25T10:00")
    before = len(DatabaseStore(demo_trial).records().spacing_runs)
    page.click("text=That is right: store the runs")
    page.wait_for_selector("text=stored.")
    runs = DatabaseStore(demo_trial).records().spacing_runs[before:]
    assert {r.strips for r in runs} == {(7,)}
    assert 2 <= sum(len(r.readings) for r in runs) <= number
    assert page.faults == []
