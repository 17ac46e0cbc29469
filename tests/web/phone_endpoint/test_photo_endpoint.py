"""Photographs: looked into, stripped of what the camera wrote, kept once."""

from __future__ import annotations

import io

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from evenground.basis.errors import InputError
from evenground.web import photographs
from evenground.web.accounts.models import Role, User
from evenground.web.accounts.services import give_role
from evenground.web.trials.models import TrialFile

URL = "/phone/api/photos/"
ORIENTATION, MAKE, GPS = 0x0112, 0x010F, 0x8825


def picture(fmt="JPEG", size=(40, 20), mode="RGB", exif=True):
    image = Image.new(mode, size, "green" if mode == "RGB" else 0)
    said = Image.Exif()
    if exif:
        said[MAKE] = "invented camera"
        said[ORIENTATION] = 6
        said.get_ifd(GPS).update({1: "N", 2: (51.0, 30.0, 0.0), 3: "E", 4: (9.0, 0.0, 0.0)})
    out = io.BytesIO()
    image.save(out, fmt, **({"exif": said} if exif else {}))
    return out.getvalue()


def send(client, trial, data, name="p1", **more):
    file = SimpleUploadedFile("x.jpg", data, "image/jpeg")
    return client.post(URL, {"id": name, "trial": trial.slug, "strip": "3", "file": file, **more})


def test_a_photograph_is_kept_once_without_what_the_camera_wrote(browser, new_trial):
    assert send(browser, new_trial, picture()).json()["state"] == "stored"
    assert send(browser, new_trial, picture()).json()["state"] == "already"
    kept = TrialFile.objects.get(trial=new_trial)
    assert kept.path == "photos/p1.jpg"
    assert b"invented camera" not in bytes(kept.content)
    image = Image.open(io.BytesIO(bytes(kept.content)))
    assert dict(image.getexif()) == {}
    assert image.format == "JPEG"
    assert image.size == (20, 40)  # turned upright before the note of how it was held is dropped


def test_the_place_stays_only_where_it_is_wanted(browser, new_trial):
    send(browser, new_trial, picture(), keep_place="1")
    exif = Image.open(io.BytesIO(bytes(TrialFile.objects.get().content))).getexif()
    assert exif.get_ifd(GPS)[2] == (51.0, 30.0, 0.0)
    assert MAKE not in exif
    assert ORIENTATION not in exif


@pytest.mark.parametrize("mode", ["RGB", "RGBA", "L", "P"])
def test_a_png_becomes_a_jpeg(browser, new_trial, mode):
    assert send(browser, new_trial, picture("PNG", mode=mode, exif=False)).json()["state"] == "stored"
    assert bytes(TrialFile.objects.get().content)[:3] == b"\xff\xd8\xff"


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"not a picture",
        b"\xff\xd8\xff\xe0 but then nothing",
        picture()[:300],
        b"<svg xmlns='http://www.w3.org/2000/svg'/>",
        b"GIF89a" + bytes(40),
        b"PK\x03\x04" + bytes(100),
    ],
    ids=["empty", "text", "head only", "cut off", "svg", "gif", "zip"],
)
def test_what_is_no_photograph_is_told_so_and_not_kept(browser, new_trial, data):
    answer = send(browser, new_trial, data)
    assert answer.status_code in (400, 415)
    assert "message" in answer.json() or answer.json()["problems"]
    assert TrialFile.objects.count() == 0


def test_too_large_is_told(browser, new_trial, monkeypatch):
    monkeypatch.setattr("evenground.web.phone.api.LARGEST_PHOTO_BYTES", 500)
    assert send(browser, new_trial, picture(size=(400, 400))).status_code == 413
    monkeypatch.setattr(photographs, "LARGEST_PHOTO_PIXELS", 100)
    with pytest.raises(InputError, match="too large"):
        photographs.clean_photo(picture())


def test_a_picture_that_claims_to_be_enormous_is_not_opened():
    # A PNG header that says 60,000 x 60,000 points and holds none: 10 GB once opened.
    head = picture("PNG", exif=False)
    huge = head[:16] + (60_000).to_bytes(4, "big") * 2 + head[24:]
    with pytest.raises(InputError):
        photographs.clean_photo(huge)


@pytest.mark.parametrize("name", ["", "../x", "a/b", "x" * 81, "ü", "a\x00"])
def test_names_that_could_lead_elsewhere_are_refused(browser, new_trial, name):
    assert send(browser, new_trial, picture(), name).status_code == 400


def test_viewers_and_strangers_send_none(client, new_trial):
    viewer = User.objects.create_user("viewer")
    client.force_login(viewer)
    assert send(client, new_trial, picture()).status_code == 404
    give_role(user=viewer, role=Role.VIEWER, trial=new_trial)
    assert send(client, new_trial, picture()).status_code == 403
