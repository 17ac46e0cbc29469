"""Figures: readable without colour, the same each time, nothing outside the sheet."""

from __future__ import annotations

import math
import re
from itertools import combinations, pairwise
from xml.etree import ElementTree

import pytest
from tests.report import fixture_verdict

from evenground.adapters.charts import draw, spread_labels, stacked
from evenground.adapters.strip_map import round_length, scale_of
from evenground.adapters.svg_figure import INK, LOOKS, OKABE_ITO, QUIET, look
from evenground.report.build import build
from evenground.report.document import Figure
from evenground.report.picture_data import strip_map
from evenground.report.pictures import MapStrip, StripMap, TwentyDots

FIGURES = {f.name: f for f in build(fixture_verdict.verdict("ABC"), fixture_verdict.field()).figures}
PAIR = {f.name: f for f in build(fixture_verdict.verdict(), fixture_verdict.field()).figures}


def texts(svg: str) -> list[str]:
    """Letters are drawn as outlines; each text also stands in a comment beside them."""
    return [text.strip() for text in re.findall(r"<!--(.*?)-->", svg, re.DOTALL)]


@pytest.mark.parametrize("name", list(FIGURES))
def test_same_figure_same_bytes(name: str) -> None:
    assert draw(FIGURES[name]) == draw(FIGURES[name])


@pytest.mark.parametrize("name", list(FIGURES))
def test_is_one_svg_with_a_text_alternative_and_no_address(name: str) -> None:
    svg = draw(FIGURES[name])
    root = ElementTree.fromstring(svg)
    assert root.attrib["role"] == "img"
    described = root.attrib["aria-labelledby"]
    found = [node.text for node in root.iter() if node.attrib.get("id") == described]
    assert found == [FIGURES[name].alt]
    without_names = svg.replace('xmlns="http://www.w3.org/2000/svg"', "")
    without_names = without_names.replace('xmlns:xlink="http://www.w3.org/1999/xlink"', "")
    assert "http" not in without_names
    assert "<metadata" not in svg
    assert "<text" not in svg  # outlines only: looks alike on every machine


@pytest.mark.parametrize("name", list(FIGURES))
def test_ids_carry_the_name_and_every_reference_is_met(name: str) -> None:
    svg = draw(FIGURES[name])
    ids = re.findall(r'\bid="([^"]+)"', svg)
    assert len(ids) == len(set(ids))
    assert all(one.startswith(f"{name}-") for one in ids)
    assert set(re.findall(r'(?:href="#|url\(#)([^")]+)', svg)) <= set(ids)


def test_dots_say_the_line_and_both_counts() -> None:
    said = texts(draw(PAIR["dots-B"]))
    assert "must reach to pay: +0.4 t/ha" in said
    assert "14 of 20: would pay" in said
    assert "6 of 20: would not pay" in said
    assert "extra yield of B over A, t dry matter/ha" in said


@pytest.mark.parametrize(
    ("gains", "pays_from"),
    [
        (tuple(i / 10 for i in range(20)), 5.0),
        (tuple(i / 10 for i in range(20)), -5.0),
        ((0.5,) * 20, 0.4),
        (tuple(-i / 1000 for i in range(20, 0, -1)), 0.0),
        (tuple(i / 10 for i in range(20)), math.inf),
        (tuple(i / 10 for i in range(20)), -math.inf),
    ],
)
def test_dots_far_from_the_line_still_draw(gains: tuple[float, ...], pays_from: float) -> None:
    picture = TwentyDots(gains, pays_from, "B", "A", "t/ha")
    said = texts(draw(Figure("dots", picture, "alt", "caption")))
    assert f"{picture.paying} of 20: would pay" in said


def test_map_writes_letter_and_weight_in_every_strip() -> None:
    said = texts(draw(PAIR["strip-map"]))
    picture = PAIR["strip-map"].picture
    assert isinstance(picture, StripMap)
    for strip in picture.strips:
        assert f"{strip.letter}   {strip.label}" in said
        assert str(strip.strip) in said
    assert "N" in said
    assert "twin staggered rows" in said


def test_map_is_to_scale_unless_it_says_otherwise() -> None:
    whole = strip_map(fixture_verdict.verdict("ABC"), None)
    assert scale_of(whole).stretched == 1.0
    long = tuple(
        MapStrip(s.strip, s.block, s.letter, tuple((x, 3 * y) for x, y in s.ring), s.label, s.weighed)
        for s in whole.strips
    )
    stretched = StripMap(long, (), whole.north, whole.names, whole.unit)
    assert scale_of(stretched).stretched > 1.2
    said = texts(draw(Figure("strip-map", stretched, "alt", "caption")))
    assert any(text.startswith("widths drawn") and text.endswith("times too wide") for text in said)


def test_long_method_names_are_wrapped() -> None:
    whole = strip_map(fixture_verdict.verdict(), None)
    named = StripMap(whole.strips, (), whole.north, (("A", "word " * 16), ("B", "b")), whole.unit)
    said = texts(draw(Figure("strip-map", named, "alt", "caption")))
    assert max(len(text) for text in said if text.startswith("word")) < 40


def test_block_lines_name_every_block_and_the_gap() -> None:
    said = texts(draw(PAIR["block-lines"]))
    assert [text for text in said if text.startswith("block 5")] == ["block 5 (no A)"]
    assert sum(text.startswith("block") for text in said) == 8


def test_dollar_signs_are_plain_text() -> None:
    whole = strip_map(fixture_verdict.verdict(), None)
    named = StripMap(whole.strips, (), whole.north, (("A", "$x^2$ --> <b>"), ("B", "b")), whole.unit)
    svg = draw(Figure("strip-map", named, 'a < b & "c"', "caption"))
    ElementTree.fromstring(svg)
    assert any("$x^2$" in text for text in texts(svg))


def test_methods_differ_in_pattern_and_in_mark_not_only_in_colour() -> None:
    for one, other in combinations(LOOKS.values(), 2):
        assert one.hatch != other.hatch
        assert one.marker != other.marker
        assert one.colour != other.colour
    assert look("Q", ("P", "Q")) == LOOKS["B"]


def luminance(colour: str) -> float:
    """Relative luminance, WCAG 2.1."""
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return sum(weight * c for weight, c in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


@pytest.mark.parametrize("colour", [INK, QUIET])
def test_words_have_enough_contrast(colour: str) -> None:
    """Outside: Web Content Accessibility Guidelines 2.1, criterion 1.4.3: 4.5 to 1 for text."""
    for ground in ("#ffffff", *(one.fill for one in LOOKS.values())):
        assert (luminance(ground) + 0.05) / (luminance(colour) + 0.05) >= 4.5


def test_colours_are_the_published_ones() -> None:
    """Okabe and Ito (2008), as RGB: blue 0, 114, 178; orange 230, 159, 0; bluish green 0, 158, 115 (from memory)."""
    assert OKABE_ITO["blue"] == f"#{0:02X}{114:02X}{178:02X}"
    assert OKABE_ITO["orange"] == f"#{230:02X}{159:02X}{0:02X}"
    assert OKABE_ITO["green"] == f"#{0:02X}{158:02X}{115:02X}"


def test_labels_are_moved_apart_and_no_further() -> None:
    moved = spread_labels([3.0, 1.0, 1.0, 1.1, 9.0], 1.0)
    ordered = sorted(moved)
    assert all(b - a >= 1.0 - 1e-12 for a, b in pairwise(ordered))
    assert moved[4] == 9.0
    assert spread_labels([], 1.0) == []


def test_dots_of_one_bin_stand_on_each_other() -> None:
    assert stacked((0.0, 0.01, 1.0), 0.5) == [(0.0, 0), (0.0, 1), (1.0, 0)]


@pytest.mark.parametrize(("metres", "rounded"), [(1.0, 1.0), (9.9, 5.0), (10.0, 10.0), (0.3, 0.2)])
def test_scale_bars_have_round_lengths(metres: float, rounded: float) -> None:
    assert round_length(metres) == pytest.approx(rounded)
