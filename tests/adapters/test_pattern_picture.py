"""The picture of row patterns: to scale, described, and the same each time."""

import re
from xml.etree import ElementTree

import pytest

from evenground.adapters.pattern_picture import alt_text, pattern_png, pattern_svg, write_pattern_picture
from evenground.basis.errors import InputError
from evenground.basis.method import RowPattern
from evenground.sowing.row_geometry import RepeatedPattern, repeated, triangle

SINGLE = repeated(RowPattern(), 8.5)
TWIN = repeated(RowPattern(kind="twin", twin_gap_m=0.22, staggered=True), 8.5)
BOTH = [SINGLE, TWIN]
SVG = "{http://www.w3.org/2000/svg}"


def test_svg_is_described_and_self_contained():
    root = ElementTree.fromstring(pattern_svg(BOTH))
    assert root.get("role") == "img"
    assert root.find(f"{SVG}title").text == "single rows beside twin rows, staggered"
    described = root.find(f"{SVG}desc").text
    assert described == alt_text(BOTH)
    room = "nearest plant 15.7 cm, circles 16 % of the ground, land per plant 1\u202f176 cm²"
    assert f"A: single rows, {room}" in described
    assert "B: twin rows, staggered, nearest plant 27.0 cm, circles 49 % of the ground" in described
    links = re.findall(r'(?:href|src)="([^#"][^"]*)"', pattern_svg(BOTH))
    assert links == []


def test_same_patterns_same_bytes():
    assert pattern_svg(BOTH) == pattern_svg(BOTH)
    assert pattern_png(BOTH) == pattern_png(BOTH)
    assert pattern_svg(BOTH) != pattern_svg([TWIN, SINGLE])


def test_both_panels_have_one_scale():
    """The circles of the drawing have the diameters of the patterns, in the ratio of the nearest distances."""
    from evenground.adapters import pattern_picture

    figure = pattern_picture._drawing(BOTH)
    windows = [axes.get_xlim()[1] - axes.get_xlim()[0] for axes in figure.axes]
    assert windows[0] == pytest.approx(windows[1]) == pytest.approx(1.5)
    sizes = [axes.get_position().width * figure.get_figwidth() for axes in figure.axes]
    assert sizes[0] == pytest.approx(sizes[1])
    tall = [axes.get_position().height * figure.get_figheight() for axes in figure.axes]
    assert tall[0] == pytest.approx(sizes[0]), "a metre is as long up as across"
    radii = [axes.patches[0].get_radius() for axes in figure.axes]
    assert radii == pytest.approx([0.5 / (8.5 * 0.75), 0.5 * (0.11**2 * 4 + (0.5 / (8.5 * 0.375)) ** 2) ** 0.5])


def test_plants_are_told_apart_without_colour():
    from evenground.adapters import pattern_picture

    figure = pattern_picture._drawing(BOTH)
    assert len({axes.lines[0].get_marker() for axes in figure.axes}) == 2


@pytest.mark.parametrize("pattern", [triangle(9.0), RepeatedPattern("chess board", 0.6, 0.6, ((0.0, 0.0), (0.3, 0.3)))])
def test_any_pattern_can_be_drawn(pattern):
    assert pattern.name in pattern_svg([pattern])


@pytest.mark.parametrize(("name", "starts"), [("rows.svg", b"<svg"), ("rows.PNG", b"\x89PNG")])
def test_the_kind_follows_the_name(tmp_path, name, starts):
    write_pattern_picture(tmp_path / name, BOTH)
    assert (tmp_path / name).read_bytes().startswith(starts)


def test_other_names_and_places_are_refused(tmp_path):
    with pytest.raises(InputError, match=r"\.svg or \.png"):
        write_pattern_picture(tmp_path / "rows.gif", BOTH)
    (tmp_path / "file").write_text("")
    with pytest.raises(InputError, match="no such folder"):
        write_pattern_picture(tmp_path / "file" / "rows.svg", BOTH)
    assert [p.name for p in tmp_path.iterdir()] == ["file"]
