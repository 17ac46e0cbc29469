"""The season chart: names every stage, one axis, labels that do not touch."""

from __future__ import annotations

import re
from datetime import date, timedelta
from itertools import pairwise
from xml.etree import ElementTree

import pytest

from evenground.adapters.charts import draw
from evenground.adapters.season_chart import draw_season, side_by_side
from evenground.report.document import Figure
from evenground.report.pictures import CropLife, HeatLine, SeasonDays, StageMark, WaterLine

SOWN = date(2025, 4, 28)


def mark(name: str, day: int, long: int = 0) -> StageMark:
    return StageMark(name, SOWN + timedelta(days=day), SOWN + timedelta(days=day + long))


def life(letters: str, later: int = 0) -> CropLife:
    marks = (mark("sown", later), mark("emergence", 12 + later, 2), mark("three leaf collars", 35 + later, 2))
    return CropLife(tuple(letters), (*marks, mark("flowering", 75 + later, 3), mark("silage, 32 % dry matter", 115, 5)))


def season(**changes: object) -> SeasonDays:
    water = (
        WaterLine(("A",), SOWN, (90.0,) * 122),
        WaterLine(("B",), SOWN + timedelta(days=8), (60.0,) * 114),
    )
    given = {
        "first": SOWN,
        "rain_mm": (None, *[4.0, 0.0, 11.0] * 40, 2.0),
        "water": water,
        "lives": (life("A"), life("B", 8)),
        "flowering": (SOWN + timedelta(days=62), SOWN + timedelta(days=97)),
        "harvest": SOWN + timedelta(days=121),
        "letters": ("A", "B"),
    }
    return SeasonDays(**{**given, **changes})  # type: ignore[arg-type]


def said(picture: SeasonDays) -> list[str]:
    svg = draw(Figure("season", picture, "alt & words", "caption"))
    assert ElementTree.fromstring(svg).attrib["role"] == "img"
    assert svg == draw(Figure("season", picture, "alt & words", "caption"))
    return [text.strip() for text in re.findall(r"<!--(.*?)-->", svg, re.DOTALL)]


def test_names_stages_days_units_and_methods() -> None:
    got = " ".join(said(season())).replace("\xa0", " ")
    for word in ("sown", "28 Apr", "emergence", "flowering", "silage", "rain, mm a day", "harvest 27 Aug", "1 Jul"):
        assert word in got
    assert "available water, % of usable field capacity" in got


@pytest.mark.parametrize(
    "changes",
    [
        {"water": ()},
        {"rain_mm": (None,) * 122},
        {"rain_mm": (3.0,), "water": (), "lives": (CropLife(("A",), (mark("sown", 0),)),), "harvest": None},
        {"flowering": None, "harvest": None, "lives": ()},
    ],
)
def test_parts_that_are_not_known_are_left_out(changes: dict[str, object]) -> None:
    got = " ".join(said(season(**changes)))
    assert "rain, mm a day" in got
    assert ("available water" in got) == (changes.get("water") != ())


def test_all_panels_share_one_time_axis() -> None:
    axes = draw_season(season()).axes
    assert len(axes) == 3
    assert len({one.get_xlim() for one in axes}) == 1
    assert len({(round(one.get_position().x0, 6), round(one.get_position().x1, 6)) for one in axes}) == 1


def test_lines_differ_without_colour() -> None:
    water = draw_season(season()).axes[1]
    lines = [line for line in water.get_lines() if len(line.get_xdata()) > 100]  # type: ignore[arg-type]
    assert len(lines) == 2
    assert lines[0].get_marker() != lines[1].get_marker()
    assert lines[0].get_linestyle() != lines[1].get_linestyle()


def warm(rate: float, later: int = 0) -> HeatLine:
    return HeatLine(
        ("B",) if later else ("A",), SOWN + timedelta(days=later), tuple(rate * n for n in range(122 - later))
    )


def test_heat_has_its_own_panel_on_the_same_axis_between_crop_and_water() -> None:
    picture = season(heat=(warm(12.0), warm(12.0, 8)))
    axes = draw_season(picture).axes
    assert len(axes) == 4
    assert len({one.get_xlim() for one in axes}) == 1
    tops = [one.get_position().y1 for one in axes]
    assert tops == sorted(tops, reverse=True)
    lines = [line for line in axes[1].get_lines() if len(line.get_xdata()) > 100]  # type: ignore[arg-type]
    assert [list(line.get_ydata())[-1] for line in lines] == [12.0 * 121, 12.0 * 113]  # type: ignore[arg-type]
    assert [next(iter(line.get_xdata())) for line in lines] == [0, 8]  # type: ignore[arg-type]
    assert lines[0].get_linestyle() != lines[1].get_linestyle()
    assert max(axes[1].get_ylim()) > 12.0 * 121
    assert "heat since sowing" in " ".join(said(picture))


def test_heat_is_drawn_without_a_water_balance_too() -> None:
    axes = draw_season(season(heat=(warm(12.0),), water=())).axes
    assert len(axes) == 3
    assert "available water" not in " ".join(said(season(heat=(warm(12.0),), water=())))


def test_labels_never_touch_nor_leave_the_line() -> None:
    widths = [8.0, 14.0, 10.0, 10.0]
    places = side_by_side([0.0, 3.0, 4.0, 99.0], widths, (0.0, 100.0), 1.0)
    edges = [(x - w / 2, x + w / 2) for x, w in zip(places, widths, strict=True)]
    assert all(b[0] - a[1] >= 1.0 - 1e-12 for a, b in pairwise(edges))
    assert edges[0][0] >= 0.0
    assert edges[-1][1] <= 100.0
