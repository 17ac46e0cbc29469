"""Photographs at the door: what is read, and every way in which one cannot be."""

import io
import struct
import zlib

import numpy as np
import pytest
from PIL import Image, TiffImagePlugin

from evenground.adapters.photo_file import LARGEST_PIXELS, Mark, read_photo
from evenground.adapters.photo_overlay import LONGEST_SIDE, overlay_png
from evenground.adapters.photo_runs import read_changes, run_text, write_runs
from evenground.adapters.spacing_file import read_spacing_file
from evenground.basis.errors import InputError
from evenground.stand.photo.found import Found, Plant
from evenground.stand.photo.rows import Line, Rows

MARK = Mark((10.0, 10.0, 110.0, 10.0), 0.4)  # 4 mm a pixel


def picture(path, size=(200, 150), mode="RGB", **options):
    ground = np.random.default_rng(0).integers(90, 130, (size[1], size[0], 3)).astype(np.uint8)
    Image.fromarray(ground).convert(mode).save(path, **options)
    return path


def problems(path, mark):
    with pytest.raises(InputError) as error:
        read_photo(path, mark)
    return error.value.problems


@pytest.mark.parametrize("name", ["a.jpg", "a.png", "a.tif"])
def test_every_kind_with_two_marks(tmp_path, name):
    photo = read_photo(picture(tmp_path / name), MARK)
    assert photo.pixels.shape == (150, 200, 3)
    assert (photo.size_px, photo.pixel_m) == ((200, 150), pytest.approx(0.004))
    assert photo.work_pixel_m == photo.pixel_m


def test_a_fine_picture_is_made_smaller_by_a_whole_factor(tmp_path):
    photo = read_photo(picture(tmp_path / "a.png", (203, 150)), Mark((0, 0, 100, 0), 0.1))
    assert (photo.pixel_m, photo.work_pixel_m) == (pytest.approx(0.001), pytest.approx(0.003))
    assert photo.pixels.shape == (50, 68, 3)
    assert photo.size_px == (203, 150)


def test_a_turned_photograph_is_set_upright_as_viewers_show_it(tmp_path):
    exif = Image.Exif()
    exif[0x0112] = 6
    photo = read_photo(picture(tmp_path / "a.jpg", exif=exif), Mark((10, 10, 10, 190), 0.72))
    assert photo.size_px == (150, 200)
    assert photo.pixels.shape == (200, 150, 3)


@pytest.mark.parametrize(("picture_name", "beside"), [("t.jpg", "t.jgw"), ("t.png", "t.pgw"), ("t.tif", "t.tfw")])
def test_a_world_file_gives_the_scale(tmp_path, picture_name, beside):
    # a, d, b, e, c, f: 4 mm a pixel, turned by 30 degrees; place in an invented metric system
    c, s = 0.004 * np.cos(np.pi / 6), 0.004 * np.sin(np.pi / 6)
    (tmp_path / beside).write_text(f"{c}\n{s}\n{s}\n{-c}\n500000.0\n5400000.0\n")
    photo = read_photo(picture(tmp_path / picture_name), None)
    assert photo.pixel_m == pytest.approx(0.004)
    assert beside in photo.scale


def tile(path, sides=(0.004, 0.004, 0.0), keys=((1024, 0, 1, 1), (3076, 0, 1, 9001))):
    tags = TiffImagePlugin.ImageFileDirectory_v2()
    tags[33550] = sides
    tags.tagtype[33550] = 12  # double
    tags[34735] = (1, 1, 0, len(keys), *(n for key in keys for n in key))
    tags.tagtype[34735] = 3  # short
    return picture(path, tiffinfo=tags)


def test_a_map_picture_knows_its_scale(tmp_path):
    photo = read_photo(tile(tmp_path / "t.tif"), None)
    assert photo.pixel_m == pytest.approx(0.004)
    assert "tags of the map picture" in photo.scale
    # marks go first
    assert read_photo(tmp_path / "t.tif", Mark((0, 0, 100, 0), 0.2)).pixel_m == pytest.approx(0.002)


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ({"keys": ((1024, 0, 1, 2),), "sides": (4e-8, 4e-8, 0.0)}, "in degrees"),
        ({"keys": ((1024, 0, 1, 1), (3076, 0, 1, 9003))}, "not in metres"),
        ({"sides": (0.004, 0.006, 0.0)}, "not square"),
        ({"sides": (0.0, 0.0, 0.0)}, "not square"),
        ({"sides": (0.05, 0.05, 0.0)}, "too large for leaves"),
    ],
)
def test_map_pictures_that_cannot_be(tmp_path, options, words):
    (one,) = problems(tile(tmp_path / "t.tif", **options), None)
    assert words in one.message
    assert one.file == "t.tif"
    assert one.given
    assert one.allowed


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("4e-8\n0\n0\n-4e-8\n10.5\n48.2\n", "in degrees"),
        ("0.004\n0\n0\n-0.006\n500000\n5400000\n", "not square"),
        ("0.004\n0\n0\n0\n500000\n5400000\n", "not square"),
        ("0.004\n0\n0\n-0.004\n", "no world file"),
        ("a\nb\nc\nd\ne\nf\n", "no world file"),
        ("nan\n0\n0\n-0.004\n1\n1\n", "no world file"),
        ("0.05\n0\n0\n-0.05\n500000\n5400000\n", "too large for leaves"),
    ],
)
def test_world_files_that_cannot_be(tmp_path, text, words):
    (tmp_path / "t.jgw").write_text(text)
    (one,) = problems(picture(tmp_path / "t.jpg"), None)
    assert words in one.message
    assert one.file == "t.jgw"
    assert one.given
    assert one.allowed


def test_no_scale(tmp_path):
    (one,) = problems(picture(tmp_path / "t.jpg"), None)
    assert "no scale" in one.message
    assert "t.jgw" in one.allowed


@pytest.mark.parametrize(
    ("mark", "field", "words"),
    [
        (Mark((20, 20, 20, 20), 1.0), "--mark", "same point"),
        (Mark((20, 20, 40, 20), 1.0), "--mark", "too close"),
        (Mark((20, 20, 400, 20), 1.0), "--mark", "outside"),
        (Mark((-1, 20, 100, 20), 1.0), "--mark", "outside"),
        (Mark((float("nan"), 20, 100, 20), 1.0), "--mark", "numbers"),
        (Mark((0, 0, 100, 0), 0.0), "--distance-m", "far apart"),
        (Mark((0, 0, 100, 0), -1.0), "--distance-m", "far apart"),
        (Mark((0, 0, 100, 0), float("nan")), "--distance-m", "far apart"),
        (Mark((0, 0, 100, 0), 40.0), "--mark", "too large for leaves"),
    ],
)
def test_marks_that_cannot_be(tmp_path, mark, field, words):
    (one,) = problems(picture(tmp_path / "t.jpg"), mark)
    assert (one.field, words in one.message) == (field, True)
    assert one.given
    assert one.allowed


def test_everything_at_once(tmp_path):
    found = problems(picture(tmp_path / "t.png", (60, 150), "L"), Mark((0, 0, 0, 0), 0.0))
    assert len(found) == 4


@pytest.mark.parametrize("data", [b"", b"not a picture", b"\xff\xd8\xff\xe0" + bytes(50), b"GIF89a" + bytes(40)])
def test_no_picture(tmp_path, data):
    (tmp_path / "t.jpg").write_bytes(data)
    (one,) = problems(tmp_path / "t.jpg", MARK)
    assert (one.file, one.field, one.allowed) == ("t.jpg", "photo", "JPEG, PNG or TIFF")


@pytest.mark.parametrize("name", ["t.jpg", "t.png", "t.tif"])
def test_a_picture_cut_off(tmp_path, name):
    path = picture(tmp_path / name)
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])
    (one,) = problems(path, MARK)
    assert one.file == name
    assert "cut off" in one.message or "no picture" in one.message


def png_claiming(width, height):
    """A small PNG whose header claims a huge picture."""

    def chunk(name, data):
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    body = chunk(b"IHDR", header) + chunk(b"IDAT", zlib.compress(bytes(100))) + chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + body


@pytest.mark.parametrize("side", [8000, 12000, 50000])
def test_a_picture_that_would_fill_the_memory(tmp_path, side):
    assert side**2 > LARGEST_PIXELS
    (tmp_path / "t.png").write_bytes(png_claiming(side, side))
    (one,) = problems(tmp_path / "t.png", MARK)
    assert "too large" in one.message
    assert one.allowed == "at most 60 million pixels"


def test_no_colour(tmp_path):
    (one,) = problems(picture(tmp_path / "t.png", mode="L"), MARK)
    assert "no colours" in one.message


def test_no_file(tmp_path):
    (one,) = problems(tmp_path / "none.jpg", MARK)
    assert "no such file" in one.message


# Runs, corrections, overlay


@pytest.fixture
def found():
    """A twin row and a single row along x; the single one has one plant only."""
    rows = Rows(0.0, ((Line(0.3, 0.0, 0.0, 3.0), Line(0.5, 0.0, 0.0, 3.0)), (Line(1.2, 0.0, 0.0, 3.0),)))
    places = [(1, 1, 0.2, 0.3), (1, 1, 0.5123, 0.3), (1, 2, 0.35, 0.5), (1, 2, 0.66, 0.5), (2, 1, 1.0, 1.2)]
    plants = tuple(Plant(r, n, x, x / 0.002, y / 0.002) for r, n, x, y in places)
    return Found(plants, rows, 0.002, (1500, 1000), 0.05, 0.0, 0.2, 0.1, 0.07)


def test_runs_are_read_as_spacing_files(tmp_path, found):
    files, left = write_runs(found, tmp_path, "field")
    assert [f.name for f in files] == ["field-row-1.csv"]
    assert left == ("row 2, line 1: fewer than two plants, so no gap",)
    read = read_spacing_file(files[0], 0.31)
    assert [line.line for line in read.lines] == ["1", "2"]
    # positions are written to the millimetre
    assert [float(g) for g in read.gaps_m] == pytest.approx([0.312, 0.31], abs=1e-9)


def test_a_line_that_begins_before_its_row_starts_the_tape(found):
    early = (Plant(1, 1, -0.02, 0, 150), *found.plants[1:])
    text, _ = run_text(Found(early, *list(found.__dict__.values())[1:]), 1)
    assert text.splitlines()[1].startswith("1,1,0.0,")


def test_corrections_are_read(tmp_path):
    path = tmp_path / "fix.csv"
    path.write_text("action;x;y\nAdd;100,5;20\nremove;3;4\n")
    assert [(c.at, c.action, c.x_px, c.y_px) for c in read_changes(path)] == [
        (2, "add", 100.5, 20.0),
        (3, "remove", 3.0, 4.0),
    ]


def test_corrections_that_are_none(tmp_path):
    path = tmp_path / "fix.csv"
    path.write_text("action,x,y\nmove,1,2\nadd,one,2\nadd,1,\n")
    with pytest.raises(InputError) as error:
        read_changes(path)
    assert [(p.row, p.field) for p in error.value.problems] == [(2, "action"), (3, "x"), (4, "y")]
    path.write_text("action,x\nadd,1\n")
    with pytest.raises(InputError, match="y: this column is missing"):
        read_changes(path)


def test_the_overlay_shows_plants_lines_and_rulers(tmp_path, found):
    photo = read_photo(picture(tmp_path / "a.png", (1500, 1000)), Mark((0, 0, 1000, 0), 2.0))
    image = Image.open(io.BytesIO(overlay_png(photo, found)))
    assert image.size == (1534, 1034)
    pixels = np.asarray(image)
    ring = pixels[34 + 150 - 12 : 34 + 150 + 12, 34 + 100 - 12 : 34 + 100 + 12].reshape(-1, 3)
    assert (ring == (0xD5, 0x5E, 0x00)).all(axis=1).any()
    assert (pixels[34 + 600, 34 + 700 : 34 + 800] == (0xF0, 0xE4, 0x42)).all()
    assert overlay_png(photo, found) == overlay_png(photo, found)


def test_a_large_overlay_is_made_smaller(tmp_path, found):
    photo = read_photo(picture(tmp_path / "a.png", (6000, 500)), Mark((0, 0, 1000, 0), 2.0))
    assert max(Image.open(io.BytesIO(overlay_png(photo, found))).size) < LONGEST_SIDE + 100
