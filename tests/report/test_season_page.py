"""The season page says what the summary says: its own numbers, its units, and what is missing."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date, datetime, timedelta
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from tests import small_trial as small
from tests.report import fixture_verdict
from tests.season.invented_weather import weather

from evenground.basis.days import said_day
from evenground.basis.observations import Records
from evenground.report.build import build
from evenground.report.document import Document, Figure, Heading, Paragraph, Table
from evenground.report.pictures import SeasonDays
from evenground.report.season_page import COMPUTED, heat_table, season_figure, season_page, water_table, weaker
from evenground.report.season_picture import alternative, season_days
from evenground.season.summary import SeasonSummary, season_summary

DRAW = small.draw(("AB", "BA"))
FIRST = small.DAY.date()
HARVEST = datetime(2025, 9, 15, 9)
SEASON = {"earliness": "S 240", "earliness_group": "early", "altitude_m": 60.0}


def summary(later: int = 0, *, soil: bool = True, temperatures: bool = True, hole: int = 0) -> SeasonSummary:
    """A dry invented season; B may be sown days after A."""
    plan = small.plan(soil={"texture": "loamy_sand"} if soil else {}, season=SEASON)
    events = [
        small.event("1+4", "sown"),
        small.event("2+3", "sown", when=small.DAY + timedelta(days=later)),
        small.event("1+2+3+4", "harvested", when=HARVEST),
    ]
    air = weather(date(2025, 4, 1), 180, low=12.0, high=26.0, rain=1.0)
    air.values["rain_mm"][60 : 60 + hole] = np.nan
    if not temperatures:
        for name in ("temperature_min_c", "temperature_max_c"):
            air.values[name][:] = np.nan
    return season_summary(plan, DRAW, Records(events=events), 51.0, air)


def page(found: SeasonSummary | None) -> tuple[Any, ...]:
    return season_page(replace(fixture_verdict.verdict(), season_summary=found))


def test_without_weather_there_is_no_page() -> None:
    assert page(None) == ()
    headings = [p.text for p in build(fixture_verdict.verdict(), None).parts if isinstance(p, Heading)]
    assert "The season" not in headings


def test_it_stands_between_field_and_adviser_in_the_report() -> None:
    document: Document = build(replace(fixture_verdict.verdict(), season_summary=summary()), fixture_verdict.field())
    heads = [next(p.text for p in one if isinstance(p, Heading)) for one in document.pages]
    assert heads[-3:] == ["The season", "For the adviser", "Was it a fair comparison?"]


def test_the_sentence_leads_and_what_was_replaced_is_said() -> None:
    found = summary()
    parts = page(found)
    assert Paragraph(found.sentence, "lead") in parts
    assert Paragraph(COMPUTED, "small") in parts
    said = [p.text for p in parts if isinstance(p, Paragraph)]
    assert [t for t in said if "replaced as FAO-56 says" in t and "humidity" in t]


def test_tables_have_the_summarys_numbers_with_units() -> None:
    found = summary(later=10)
    rows = {row[0]: row for row in heat_table(found).rows}
    for method, sums in found.heat.items():
        base_6 = sums["base_6"]
        assert base_6 is not None
        # Printed to 1 deg C d: half of it.
        assert float(re.sub(r"\D", "", rows[method][2])) == pytest.approx(base_6, abs=0.5)
        assert rows[method][1] == said_day(found.sown[method])
    assert rows["A"][2] != rows["B"][2]
    table = water_table(found.water)
    for row, one in zip(table.rows, found.water, strict=True):
        assert float(row[1]) == pytest.approx(one.rain_mm, abs=0.5)
        assert float(row[3]) == pytest.approx(one.short_mm, abs=0.5)
        assert row[4] == str(one.short_days)
        assert row[6] == str(one.flowering_short_days)
    assert all(column.unit for column in table.columns[1:])


def test_picture_has_each_day_once_and_the_balances_own_water() -> None:
    found = summary(later=10, hole=3)
    picture = season_days(found)
    assert picture is not None
    assert (picture.first, picture.last) == (FIRST, HARVEST.date())
    assert picture.rain_mm.count(None) == 3
    assert [line.letters for line in picture.water] == [("A",), ("B",)]
    assert picture.water[1].first - picture.water[0].first == timedelta(days=10)
    assert picture.water[0].percent == pytest.approx(100 * found.water[0].balance.available_fraction)
    marks = [mark.name for mark in picture.lives[0].marks]
    assert marks[:2] == ["sown", "emergence"]
    assert all(picture.first <= m.first <= m.last <= picture.last for life in picture.lives for m in life.marks)
    assert "Rain is not recorded on 3 days." in weaker(found)


def test_the_line_of_heat_ends_at_the_sum_of_the_table() -> None:
    found = summary(later=10)
    picture = season_days(found)
    assert picture is not None
    assert [line.letters for line in picture.heat] == [("A",), ("B",)]
    for line in picture.heat:
        assert line.first == found.sown[line.letters[0]]
        assert line.degree_days[-1] == pytest.approx(found.heat[line.letters[0]]["base_6"], abs=1e-6)  # one sum, twice
        assert all(b >= a for a, b in pairwise(line.degree_days))
    assert "Heat since sowing of A" in alternative(picture)
    assert "degree days since each method's own sowing, base 6" in season_figure(picture).caption
    assert [line.letters for line in season_days(summary()).heat] == [("A", "B")]  # type: ignore[union-attr]
    assert season_days(summary(temperatures=False)).heat == ()  # type: ignore[union-attr]


def test_methods_alike_share_line_and_marks() -> None:
    picture = season_days(summary())
    assert picture is not None
    assert [line.letters for line in picture.water] == [("A", "B")]
    assert [life.letters for life in picture.lives] == [("A", "B")]


def test_without_soil_rain_and_heat_stay_and_the_gap_is_named() -> None:
    parts = page(summary(soil=False))
    picture = next(p.picture for p in parts if isinstance(p, Figure))
    assert isinstance(picture, SeasonDays)
    assert picture.water == ()
    assert len([p for p in parts if isinstance(p, Table)]) == 1
    said = [p.text for p in parts if isinstance(p, Paragraph)]
    assert "The plan does not say what the soil is like (section soil): nothing is said about water." in " ".join(said)


def test_a_rain_gauge_alone_still_shows_rain() -> None:
    parts = page(summary(temperatures=False))
    picture = next(p.picture for p in parts if isinstance(p, Figure))
    assert isinstance(picture, SeasonDays)
    assert sum(mm or 0.0 for mm in picture.rain_mm) == pytest.approx(70.0, abs=1.0)
    assert not any(isinstance(p, Table) for p in parts)


def test_the_words_for_it_add_up_to_the_rain() -> None:
    picture = season_days(summary())
    assert picture is not None
    text = alternative(picture)
    months = [float(mm) for mm in re.findall(r"(?:April|May|June|July|August|September) (\d+) mm", text)]
    # Six months, each printed to 1 mm: half of each.
    assert sum(months) == pytest.approx(sum(mm or 0.0 for mm in picture.rain_mm), abs=3.0)
    assert "lowest on" in text
    assert re.search(r"flowering \d+\xa0[A-Z][a-z]{2}\xa02025", text)
