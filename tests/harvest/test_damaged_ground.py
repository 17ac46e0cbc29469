"""Patches walked round in the field: how much of which weighed cut they hit, against areas known beforehand."""

from __future__ import annotations

import math
from datetime import date

import numpy as np
import pytest
from pydantic import ValidationError
from tests import small_trial as small

from evenground.basis.outlines import corners_of
from evenground.basis.record import Contradictions
from evenground.decide.verdict import verdict
from evenground.fairness.checks import fairness
from evenground.harvest.damaged_ground import hit_m2, located, outline_notes
from evenground.harvest.strips import harvest

DRAW = small.draw()


def lonlat(x, y):
    """Metres east and north of the trial's corner, as in the small trial: 70 and 111 km a degree."""
    return 9.0 + x / 70_000, 51.0 + y / 111_000


def text(points):
    return "; ".join(f"{lon!r} {lat!r}" for lon, lat in (lonlat(x, y) for x, y in points))


def box(left, right, low, high):
    return text([(left, low), (right, low), (right, high), (left, high)])


def by_hand(n=1, **cells):
    from evenground.basis.observations import Damage

    return Damage(id=f"D{n}", time=small.DAY, cause=cells.pop("cause", "boar"), **cells)


# strip n of the small trial lies 6 n to 6 n + 6 m east and 0 to 300 m north
def test_a_box_across_two_strips_takes_what_geometry_says():
    hit = hit_m2(DRAW, by_hand(outline=box(6 * 3, 6 * 4 + 2, 100, 140)))
    cut = DRAW.strip(3).cut_area_m2
    assert hit == {3: pytest.approx(cut * 40 / 300, rel=1e-9), 4: pytest.approx(cut * (2 / 6) * 40 / 300, rel=1e-9)}


def test_a_ring_walked_at_random_against_counting_points():
    """Outside check: share of random points of the strip inside the ring, by the winding of the ring alone."""
    rng = np.random.default_rng(5)
    angle = np.sort(rng.uniform(0, 2 * math.pi, 14))
    ring = [(45 + 11 * math.cos(a), 150 + 60 * math.sin(a)) for a in angle]
    hit = hit_m2(DRAW, by_hand(outline=text(ring)))
    points = rng.uniform((42, 0), (48, 300), (40_000, 2))
    x, y = np.array(ring).T
    x2, y2 = np.roll(x, -1), np.roll(y, -1)
    crossed = (y > points[:, 1:]) != (y2 > points[:, 1:])
    side = points[:, :1] < (x2 - x) * (points[:, 1:] - y) / (y2 - y) + x
    inside = ((crossed & side).sum(axis=1) % 2).mean()
    # binomial error of a share near 0.3 from 40,000 points: 0.0023; four of them
    assert hit[7] / DRAW.strip(7).cut_area_m2 == pytest.approx(inside, abs=0.0092)


def test_a_whole_strip_is_no_more_than_the_strip():
    assert hit_m2(DRAW, by_hand(outline=box(0, 400, -50, 500)))[16] == DRAW.strip(16).cut_area_m2


def test_a_ring_that_crosses_itself_is_mended_not_refused():
    bow_tie = text([(18, 100), (24, 140), (24, 100), (18, 140)])
    assert hit_m2(DRAW, by_hand(outline=bow_tie))[3] == pytest.approx(DRAW.strip(3).cut_area_m2 * 20 / 300, rel=1e-6)


def test_damage_with_an_outline_becomes_damage_of_each_strip_it_hit():
    one = by_hand(outline=box(18, 26, 100, 140), degree_percent=50, by_method="no")
    got = located(DRAW, [one, small.damage("9", "deer", length_m=30.0)])
    assert [(d.strips, d.cause, d.degree_percent) for d in got] == [
        ((3,), "boar", 50),
        ((4,), "boar", 50),
        ((9,), "deer", 100),
    ]
    assert got[0].area_m2 == pytest.approx(DRAW.strip(3).cut_area_m2 * 40 / 300)


def test_a_corrected_outline_counts_once():
    first = by_hand(1, outline=box(18, 24, 0, 300))
    second = by_hand(2, outline=box(18, 24, 0, 30), replaces="D1")
    (got,) = located(DRAW, [first, second])
    assert got.area_m2 == pytest.approx(DRAW.strip(3).cut_area_m2 / 10)


def season(*damage):
    return small.replaced(small.whole_season(DRAW), damage=damage)


def test_the_harvest_says_where_and_how_much():
    got = harvest(small.plan(), DRAW, season(by_hand(outline=box(18, 24, 100, 140), by_method="no")))
    assert got.damaged == (3,)
    assert any(note == "damage: boar on 180 m2, all lost there" for note in got.strips[2].notes)


def test_outlines_that_do_not_fit_the_strips_are_asked():
    away = by_hand(1, outline=box(5_000, 5_010, 0, 10))
    swapped = by_hand(2, outline="51.0 9.0; 51.1 9.0; 51.1 9.1")
    misses = by_hand(3, strips="3+9", outline=box(18, 24, 100, 140))
    notes = outline_notes(DRAW, [away, swapped, misses])
    assert notes[0] == "damage D1 touches no weighed cut; is its outline right, longitude first?"
    assert "D2 touches no weighed cut" in notes[1]
    assert "names strip 9, and its outline misses" in notes[2]
    assert set(notes) <= set(harvest(small.plan(), DRAW, season(away, swapped, misses)).notes)


def of(*damage, **kinds):
    records = small.replaced(season(*damage), **kinds)
    return verdict(small.stored(records=records), today=date(2025, 12, 1), version="0")


def test_the_comparison_is_given_with_and_without():
    got = of(by_hand(outline=box(18, 26, 100, 140), by_method="no"))
    (spared,) = [s for s in got.side_results if s.outcome == "yield without the blocks with damage"]
    # strips 3 and 4 are block 2; what is left is the mean of the seven other pairs
    pairs = {}
    for s in got.harvest.strips:
        pairs.setdefault(s.block, {})[s.method] = s.outcome
    left = [p["B"] - p["A"] for b, p in pairs.items() if b != 2]
    assert spared.difference == pytest.approx(np.mean(left), rel=1e-9)


@pytest.mark.parametrize("by_method", ["may_be", "unknown"])
def test_damage_the_method_may_have_caused_is_never_taken_out(by_method):
    got = of(by_hand(outline=box(18, 26, 100, 140), cause="lodging", by_method=by_method))
    assert not any("without the blocks" in s.outcome for s in got.side_results)
    assert got.harvest.blamed == (3, 4)
    assert any("never taken out" in note for note in got.harvest.notes)


def test_a_part_left_out_by_the_rule_and_one_left_out_against_it():
    left_out = [small.event("3+4", "left_out", when=small.DAY, length_m=40.0)]
    events = [*small.whole_season(DRAW).events, *left_out]
    boar = by_hand(outline=box(18, 26, 100, 140), by_method="no")
    lodged = by_hand(2, outline=box(18, 20, 10, 20), cause="lodging", by_method="may_be")
    allowed = harvest(small.plan(), DRAW, small.replaced(season(boar), events=events))
    assert allowed.strips[2].cut_area_m2 == pytest.approx(DRAW.strip(3).cut_area_m2 * 260 / 300)
    refused = harvest(small.plan(), DRAW, small.replaced(season(boar, lodged), events=events))
    assert [refused.strips[n].state for n in (2, 3)] == ["missing", "missing"]
    assert any("lodging" in note and "may have caused" in note for note in refused.strips[3].notes)


def test_the_fairness_check_knows_the_area_walked_round():
    records = season(by_hand(outline=box(18, 24, 100, 140), by_method="no"))
    found = harvest(small.plan(), DRAW, records)
    (check,) = [c for c in fairness(small.plan(), DRAW, records, found, None) if c.item == "damage"]
    letter = DRAW.strip(3).method
    # 40 m of 300 m in one of eight strips of that method
    assert f"{letter} {100 * 40 / 300 / 8:.1f} %" in check.found


GOOD = [
    ("9.1 51.2; 9.2 51.2; 9.2 51.3", 3),
    ("9.1 51.2; 9.2 51.2; 9.2 51.3; 9.1 51.2", 3),
    ("9,1 51,2; 9,2 51,2; 9,2 51,3;", 3),
    ("POLYGON ((9.1 51.2, 9.2 51.2, 9.2 51.3, 9.1 51.3, 9.1 51.2))", 4),
    ("polygon((9.1 51.2,9.2 51.2,9.2 51.3,9.1 51.2))", 3),
    ("-9.1e0 -51.2; 9.2 51.2; 9.2 51.3", 3),
]


@pytest.mark.parametrize(("cell", "corners"), GOOD)
def test_outlines_as_people_and_programs_write_them(cell, corners):
    assert len(corners_of(cell)) == corners
    assert by_hand(outline=cell).outline == cell


@pytest.mark.parametrize(
    ("cell", "words"),
    [
        ("9.1 51.2; 9.2 51.2", "at least three corners"),
        ("9.1 51.2; 9.1 51.2; 9.1 51.2", "at least three corners"),
        ("9.1; 51.2; 9.2", "not a longitude and a latitude"),
        ("nine 51.2; 9.2 51.2; 9.2 51.3", "not a longitude and a latitude"),
        ("nan 51.2; 9.2 51.2; 9.2 51.3", "outside the globe"),
        ("inf 51.2; 9.2 51.2; 9.2 51.3", "outside the globe"),
        ("500123 5650123; 500223 5650123; 500223 5650223", "outside the globe"),
        ("POLYGON ((9.1 51.2, 9.2 51.2, 9.2 51.3), (9.11 51.21, 9.12 51.21, 9.12 51.22))", "not a longitude"),
        ("POINT (9.1 51.2)", "not a longitude and a latitude"),
    ],
)
def test_what_is_no_outline_is_refused_with_what_is_allowed(cell, words):
    with pytest.raises(Contradictions) as caught:
        corners_of(cell)
    _, given, allowed, message = caught.value.faults[0]
    assert words in message
    assert given == cell
    assert "9.1 51.2; 9.2 51.2" in allowed


@pytest.mark.parametrize(
    ("cells", "words"),
    [
        ({}, "nothing says where the damage is"),
        ({"outline": GOOD[0][0], "length_m": 30}, "an outline has its size in it"),
        ({"outline": GOOD[0][0], "area_m2": 30}, "an outline has its size in it"),
        ({"strips": "3", "length_m": 3, "area_m2": 30}, "either by its length or by its area"),
        ({"outline": "here"}, "not a longitude and a latitude"),
    ],
)
def test_damage_that_contradicts_itself_is_refused(cells, words):
    with pytest.raises(ValidationError, match=words):
        by_hand(**cells)
