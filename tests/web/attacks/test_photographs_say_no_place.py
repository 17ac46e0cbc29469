"""A photograph with everything a phone writes into one: what is stored and what is served says none of it."""

from __future__ import annotations

import io

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from evenground.web.trials.models import TrialFile

from .hostile import archive, photograph
from .test_uploads_refused import send

GPS = 0x8825
SAID = (b"Invented", b"2026:05:04", b"a comment", b"a remark", b"invented profile", b"WGS-84", b"evil.py", b"<script>")
TAIL = b"<script>alert(1)</script>" + archive({"evil.py": b"x"})
"""A picture that is also a page and an archive: what stands behind its end must not go along."""


def said_by(data: bytes) -> dict:
    picture = Image.open(io.BytesIO(data))
    exif = picture.getexif()
    return {**picture.info, "raw": picture.info.get("exif"), "exif": dict(exif), "gps": dict(exif.get_ifd(GPS))}


def test_the_photograph_itself_says_it_all():
    data = photograph(tail=TAIL)
    assert all(word in data for word in SAID)
    assert said_by(data)["gps"][2] == (51.0, 39.0, 15.5)


def test_what_a_phone_sends_is_kept_bare(browser, demo_trial):
    send(browser, demo_trial, "/phone/api/photos/", photograph(tail=TAIL), trial=demo_trial.slug, id="p1")
    kept = bytes(TrialFile.objects.get(path="photos/p1.jpg").content)
    assert not [word for word in SAID if word in kept]
    told = said_by(kept)
    assert (told["exif"], told["gps"]) == ({}, {})
    assert told["raw"] is None
    assert not {"comment", "icc_profile"} & set(told)


def test_the_place_alone_stays_where_it_is_wanted(browser, demo_trial):
    more = {"trial": demo_trial.slug, "id": "p1", "keep_place": "1"}
    send(browser, demo_trial, "/phone/api/photos/", photograph(tail=TAIL), **more)
    kept = bytes(TrialFile.objects.get(path="photos/p1.jpg").content)
    told = said_by(kept)
    assert told["gps"][2] == (51.0, 39.0, 15.5)
    assert set(told["exif"]) <= {GPS}
    assert not [word for word in SAID if word in kept and word != b"WGS-84"]


@pytest.mark.parametrize("place", ["0", "1"])
def test_an_archive_without_places_has_no_photograph(browser, demo_trial, place):
    more = {"trial": demo_trial.slug, "id": "p1", "keep_place": place}
    send(browser, demo_trial, "/phone/api/photos/", photograph(), **more)
    packed = browser.get(f"/trials/{demo_trial.slug}/move/trial.zip", {"places": "0"}).getvalue()
    assert b"p1.jpg" not in packed


def test_what_is_counted_from_is_served_bare(browser, demo_trial):
    sent = SimpleUploadedFile("p.jpg", photograph(tail=TAIL), content_type="image/jpeg")
    page = browser.post(f"/trials/{demo_trial.slug}/stand/photo/", {"file": sent}).url
    served = browser.get(f"{page}picture.jpg").content
    assert not [word for word in SAID if word in served]
    assert said_by(served)["exif"] == {}
