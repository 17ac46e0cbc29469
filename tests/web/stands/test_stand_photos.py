"""Counting from a photograph: scale, overlay, corrections, runs stored once. The scenes are drawn, not real."""

from __future__ import annotations

import io
import re
import time
from html import unescape

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from evenground.web import jobs
from evenground.web.stands import photos
from evenground.web.trials.store import DatabaseStore
from tests.stand.scene import Scene, draw

MARKS = {"x1": "100", "y1": "100", "x2": "600", "y2": "100", "distance_m": "1.0"}


def text(response) -> str:
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", response.content.decode())))


@pytest.fixture(scope="module")
def scene():
    return draw(Scene(leaves=4, width_m=2.0, height_m=1.6, angle_deg=0.0), 30)


@pytest.fixture(scope="module")
def jpeg(scene) -> bytes:
    out, exif = io.BytesIO(), Image.Exif()
    exif[0x010F] = "A maker of cameras"
    Image.fromarray(scene.pixels).save(out, "JPEG", quality=92, exif=exif)
    return out.getvalue()


@pytest.fixture
def page(demo_trial) -> str:
    return f"/trials/{demo_trial.slug}/stand/photo/"


@pytest.fixture
def sent(browser, page, jpeg) -> str:
    answer = browser.post(page, {"file": SimpleUploadedFile("rows.jpg", jpeg, content_type="image/jpeg")})
    assert answer.status_code == 302
    return answer.url


def found(browser, sent, **more):
    """Ask until the plants are found."""
    end = time.monotonic() + 60
    while True:
        answer = browser.get(f"{sent}plants/", {**MARKS, **more})
        if "Looking for plants" not in text(answer) or time.monotonic() > end:
            return answer
        time.sleep(0.1)


def test_what_the_camera_added_is_not_kept(browser, sent):
    kept = browser.get(f"{sent}picture.jpg").content
    assert b"A maker of cameras" not in kept
    assert Image.open(io.BytesIO(kept)).getexif() == {}


def test_plants_of_a_drawn_scene_are_found_and_stored_once(browser, sent, scene, demo_trial):
    shown = found(browser, sent)
    number = int(re.search(r"(\d+) plants found", text(shown)).group(1))
    assert abs(number - len(scene.stems_m)) <= 0.25 * len(scene.stems_m)  # docs/photo.md: edges are left out
    assert "Tried on drawn scenes only" in text(shown)
    source = unescape(re.search(r'<img id="overlay" src="([^"]+)"', shown.content.decode()).group(1))
    assert browser.get(source).content.startswith(b"\x89PNG")
    before = len(DatabaseStore(demo_trial).records().spacing_runs)
    accept = {**MARKS, "accept": "1", "strip-1": "7", "unit-1": "2", "taken_at": "2026-05-25T10:00"}
    for _ in range(2):
        assert browser.post(f"{sent}plants/", accept).status_code == 302
    runs = DatabaseStore(demo_trial).records().spacing_runs[before:]
    assert {r.strips for r in runs} == {(7,)}
    assert {r.row_unit for r in runs} == {2}
    assert all(r.readings[0] >= 0 and list(r.readings) == sorted(r.readings) for r in runs)
    assert "7" in text(browser.get(sent.split("photo/")[0]))


def test_a_correction_changes_the_count(browser, sent):
    found(browser, sent)
    looked = next(v for v in photos.LOOKED._values.values() if v.photo.size_px == (1000, 800))
    plant = looked.found.plants[len(looked.found.plants) // 2]
    out = f"remove {plant.x_px:.0f} {plant.y_px:.0f}"
    assert f"{len(looked.found.plants) - 1} plants found" in text(found(browser, sent, changes=out))
    wrong = found(browser, sent, changes="remove 1 1\nshout 4 5")
    assert wrong.status_code == 422
    assert "this is no correction" in text(wrong)


def test_an_accepted_count_is_corrected_and_the_earlier_one_stays(browser, sent, page, jpeg, demo_trial):
    found(browser, sent)
    accept = {**MARKS, "accept": "1", "strip-1": "7", "taken_at": "2026-05-25T10:00"}
    before = len(DatabaseStore(demo_trial).records().spacing_runs)
    browser.post(f"{sent}plants/", accept)
    first = DatabaseStore(demo_trial).records().spacing_runs[before:]
    looked = next(v for v in photos.LOOKED._values.values() if v.photo.size_px == (1000, 800))
    plant = next(p for p in looked.found.plants if p.row == 1)
    # the same picture sent again, and one plant taken out of its first line
    again = browser.post(page, {"file": SimpleUploadedFile("other.jpg", jpeg, content_type="image/jpeg")}).url
    found(browser, again)
    out = {**accept, "changes": f"remove {plant.x_px:.0f} {plant.y_px:.0f}"}
    told = text(browser.post(f"{again}plants/", out, follow=True))
    assert "1 run stored. 1 of them corrects what this photograph gave before." in told
    runs = DatabaseStore(demo_trial).records().spacing_runs[before:]
    assert runs[: len(first)] == first
    (new,) = runs[len(first) :]
    old = next(r for r in first if r.id == new.replaces)
    assert (new.line, len(new.readings)) == (old.line, len(old.readings) - 1)
    assert "by hand 0 put in, 1 taken out" in new.note
    assert "stored already" in text(browser.post(f"{again}plants/", out, follow=True))


@pytest.mark.parametrize(
    ("marks", "words"),
    [
        ({"x1": ""}, "mark both ends"),
        ({"x2": "100"}, "Given"),
        ({"distance_m": "-1"}, "Given"),
        ({"x1": "100000"}, "Given"),
    ],
)
def test_marks_that_cannot_be(browser, sent, marks, words):
    answer = found(browser, sent, **marks)
    assert answer.status_code == 422
    assert words in text(answer)


def test_nothing_is_stored_without_a_strip(browser, sent, demo_trial):
    found(browser, sent)
    before = len(DatabaseStore(demo_trial).records().spacing_runs)
    assert browser.post(f"{sent}plants/", {**MARKS, "accept": "1"}).status_code == 422
    assert browser.post(f"{sent}plants/", {**MARKS, "accept": "1", "strip-1": "99"}).status_code == 422
    early = {**MARKS, "accept": "1", "strip-1": "7", "taken_at": "2026-03-01T10:00"}
    assert "before the day the strip was sown" in text(browser.post(f"{sent}plants/", early))
    assert len(DatabaseStore(demo_trial).records().spacing_runs) == before


@pytest.mark.parametrize("data", [b"", b"\xff\xd8\xff\xe0 not a picture", b"<svg xmlns='x'/>"])
def test_what_is_no_photograph(browser, page, data):
    answer = browser.post(page, {"file": SimpleUploadedFile("rows.jpg", data, content_type="image/jpeg")})
    assert answer.status_code == 422
    assert "Traceback" not in text(answer)


def test_a_photograph_of_another_trial_is_not_found(browser, page, sent, new_trial):
    token = sent.rstrip("/").rsplit("/", 1)[1]
    elsewhere = browser.get(f"/trials/{new_trial.slug}/stand/photo/{token}/picture.jpg")
    assert not elsewhere.content.startswith(b"\xff\xd8")
    assert browser.get(f"{page}{'0' * 32}/picture.jpg").status_code == 404


def test_looking_can_be_stopped(browser, sent, monkeypatch):
    def slow(*_args, progress, **_kwargs):
        for share in range(600):
            progress(share / 600)
            time.sleep(0.05)

    monkeypatch.setattr(photos, "find_plants", slow)
    assert "Looking for plants" in text(browser.get(f"{sent}plants/", {**MARKS, "distance_m": "1.01"}))
    assert browser.post(f"{sent}stop/", {**MARKS, "distance_m": "1.01"}).status_code == 302
    end = time.monotonic() + 10
    while any(j.state == "running" for j in jobs._JOBS.values()) and time.monotonic() < end:
        time.sleep(0.05)
    assert not any(j.state == "running" for j in jobs._JOBS.values())
