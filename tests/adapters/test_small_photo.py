"""Photographs of a report: small, upright, nothing of the camera left, nothing read outside the trial folder."""

import base64
import io
import re

import pytest
from PIL import Image
from pypdf import PdfReader

from evenground.adapters import small_photo as module
from evenground.adapters.html import html
from evenground.adapters.pdf import pdf
from evenground.adapters.small_photo import LONGEST_SIDE, folder_reader, size_of, small_photo, small_photos
from evenground.report.document import Document, Heading, Photo, Photos

MAKER, PLACE = "InventedMaker", (48.0, 1.0, 2.0)


def taken(size=(1600, 1200), form="JPEG", turned=1, mode="RGB"):
    """A photograph as a phone makes it: maker, turn and place in it; left half dark."""
    picture = Image.new(mode, size, "white" if mode != "P" else 255)
    picture.paste("black" if mode != "P" else 0, (0, 0, size[0] // 2, size[1]))
    exif = Image.Exif()
    exif[271], exif[0x0112] = MAKER, turned
    exif.get_ifd(0x8825).update({1: "N", 2: PLACE})
    out = io.BytesIO()
    picture.save(out, form, exif=exif)
    return out.getvalue()


@pytest.mark.parametrize(("form", "mode"), [("JPEG", "RGB"), ("JPEG", "L"), ("PNG", "RGBA"), ("PNG", "P")])
def test_it_is_small_and_nothing_of_the_camera_is_left(form, mode):
    made = small_photo(taken(form=form, mode=mode))
    assert size_of(made) == (LONGEST_SIDE, 360)
    assert len(made) < 60_000
    assert not dict(Image.open(io.BytesIO(made)).getexif())
    assert MAKER.encode() not in made
    assert made == small_photo(taken(form=form, mode=mode))


def test_it_is_turned_the_way_it_was_held():
    made = Image.open(io.BytesIO(small_photo(taken(turned=6))))  # 6: the camera was turned to the right
    assert made.size == (360, LONGEST_SIDE)
    assert made.convert("L").getpixel((180, 20)) < 30
    assert made.convert("L").getpixel((180, 460)) > 220


@pytest.mark.parametrize("data", [b"", b"no picture", taken()[:900], b"GIF89a" + bytes(40)])
def test_what_is_no_picture_is_none(data):
    assert small_photo(data) is None


def test_a_picture_that_would_fill_the_memory_is_not_unpacked(monkeypatch):
    monkeypatch.setattr(module, "LARGEST_PIXELS", 1000)
    assert small_photo(taken()) is None


def test_only_what_lies_in_the_trial_folder_is_read(tmp_path):
    folder = tmp_path / "trial"
    (folder / "photos").mkdir(parents=True)
    (folder / "photos/a.jpg").write_bytes(taken())
    (tmp_path / "secret.jpg").write_bytes(taken())
    (folder / "photos/link.jpg").symlink_to(tmp_path / "secret.jpg")
    read = folder_reader(folder)
    assert read("photos/a.jpg") == taken()
    assert read("photos/link.jpg") is None
    assert read("../secret.jpg") is None
    assert read("photos/gone.jpg") is None
    assert read("photos") is None
    assert set(small_photos(["photos/a.jpg", "photos/gone.jpg"], read)) == {"photos/a.jpg"}


ROW = (Photo("photos/a.jpg", "What <a> shows.", "Strip 1 & more"), Photo("photos/gone.jpg", "Gone.", "Strip 2"))
DOCUMENT = Document("t", "", "en", "", "f", (Heading("h"), Photos("Side by side", (ROW, ROW), "a note")))
SMALL = {"photos/a.jpg": small_photo(taken())}


def test_the_page_holds_them_with_their_words_and_names_what_is_missing():
    page = html(DOCUMENT, {}, SMALL)
    assert page.count('alt="What &lt;a&gt; shows."') == 2
    (data, _) = re.findall(r'src="data:image/jpeg;base64,([^"]+)"', page)
    assert base64.b64decode(data) == SMALL["photos/a.jpg"]
    assert page.count("cannot be shown: photos/gone.jpg") + page.count("can be shown: photos/gone.jpg") == 2
    assert "Strip 1 &amp; more" in page
    assert DOCUMENT.photographs == ("photos/a.jpg", "photos/gone.jpg")


def test_paper_holds_them_too():
    made = pdf(DOCUMENT, {}, SMALL)
    page = PdfReader(io.BytesIO(made)).pages[0]
    said = " ".join(page.extract_text().split())
    assert "Side by side" in said
    assert said.replace(" ", "").count("photos/gone.jpg") == 2
    assert len(page.images) >= 1
    assert pdf(DOCUMENT, {}, SMALL) == made
    assert MAKER.encode() not in made


def test_without_photographs_they_are_named():
    assert "photos/a.jpg" in html(DOCUMENT, {})
    assert "a.jpg" in PdfReader(io.BytesIO(pdf(DOCUMENT, {}))).pages[0].extract_text()
