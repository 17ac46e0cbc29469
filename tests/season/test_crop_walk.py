"""The crop walk by strip: walks cut apart, means, covers for the water, what is open about it."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import Any

import pytest
from tests import small_trial as small

from evenground.basis.observations import MineralNitrogen, Records, RootPit, Scores
from evenground.season.crop_walk import covers_of, crop_walk
from evenground.season.score_list import score_list

DAY = datetime(2025, 6, 9, 10)
DRAW = small.draw(("AB", "BA"))


def score(strip: int, days: int = 0, n: int = 1, **values: Any) -> Scores:
    when = DAY + timedelta(days=days)
    return Scores.model_validate({"id": f"s{strip}-{days}-{n}", "time": when, "strips": (strip,), **values})


def nitrogen(strips: tuple[int, ...], low: float, high: float, kg: float, n: int = 1) -> MineralNitrogen:
    return MineralNitrogen(
        id=f"n{strips}-{low}-{n}", time=small.AUTUMN, strips=strips, from_cm=low, to_cm=high, mineral_n_kg_per_ha=kg
    )


def test_scores_of_two_days_in_a_row_are_one_walk_and_a_gap_starts_another() -> None:
    given = [
        score(1, ground_cover_percent=30.0),
        score(2, days=1, ground_cover_percent=40.0),
        score(1, days=14, ground_cover_percent=70.0),
    ]
    first, second = crop_walk(Records(scores=given)).figures
    assert (first.first, first.last, dict(first.by_strip)) == (date(2025, 6, 9), date(2025, 6, 10), {1: 30.0, 2: 40.0})
    assert (second.name, dict(second.by_strip)) == ("ground cover, 23\xa0Jun\xa02025", {1: 70.0})


def test_several_scores_of_a_strip_are_their_mean_and_corrections_count() -> None:
    wrong = score(1, n=3, lodged_percent=100.0)
    right = wrong.model_copy(update={"id": "new", "lodged_percent": 1.0, "replaces": wrong.id})
    given = [score(1, lodged_percent=2.0), score(1, n=2, lodged_percent=6.0), wrong, right]
    (figure,) = crop_walk(Records(scores=given)).figures
    assert dict(figure.by_strip) == {1: 3.0}
    assert figure.scores == 3


def test_each_disease_is_a_figure_of_its_own_however_it_is_capitalised() -> None:
    given = [
        score(1, disease="Smut", diseased_percent=2.0),
        score(2, disease="smut", diseased_percent=3.0),
        score(1, n=2, disease="rust", diseased_percent=9.0),
    ]
    found = {f.what: dict(f.by_strip) for f in crop_walk(Records(scores=given)).figures}
    assert found == {"plants with Smut": {1: 2.0, 2: 3.0}, "plants with rust": {1: 9.0}}


def test_scores_taken_by_somebody_who_knew_the_method_are_named() -> None:
    given = [score(1, hidden=True, leaf_rolling=3), score(2, leaf_rolling=5)]
    walk = crop_walk(Records(scores=given))
    assert (walk.figures[0].hidden, walk.figures[0].scores) == (1, 2)
    assert "1 of 2 scores were not taken with the method hidden" in walk.notes[0]
    assert crop_walk(Records(scores=[given[0]])).notes == ()


def test_nitrogen_is_summed_over_layers_and_only_where_a_strip_has_its_own_sample() -> None:
    samples = [
        nitrogen((1,), 0, 30, 20.0),
        nitrogen((1,), 0, 30, 24.0, n=2),
        nitrogen((1,), 30, 60, 11.0),
        nitrogen((2,), 0, 30, 15.0),
        nitrogen((3, 4), 0, 30, 99.0),
    ]
    walk = crop_walk(Records(mineral_nitrogen=samples))
    found = {f.what: dict(f.by_strip) for f in walk.nitrogen}
    # Strip 1: mean of 20 and 24, and 11 below it. Strip 2 has one layer only and is not put beside it.
    assert found == {"mineral nitrogen in 0 to 60 cm": {1: 33.0}, "mineral nitrogen in 0 to 30 cm": {2: 15.0}}
    assert "1 sample mixed over several strips" in walk.notes[0]


def test_pits_and_pictures_are_kept_with_strip_and_place() -> None:
    pit = RootPit(id="p", time=DAY, strips=(2,), deepest_root_cm=85.0, photo="photos/pit.jpg")
    given = score(1, photo="photos/1.jpg", lon=9.5, lat=51.2, note="pale")
    walk = crop_walk(Records(scores=[given], root_pits=[pit]))
    assert walk.pits == (pit,)
    assert (walk.seen[0].strip, walk.seen[0].lat, walk.seen[0].photo) == (1, 51.2, "photos/1.jpg")
    assert walk.as_dict()["root_pits"][0]["deepest_root_cm"] == 85.0
    assert crop_walk(Records()).empty


def records(*scores: Scores) -> Records:
    return Records(events=[small.event("1+2+3+4", "sown")], scores=scores)


def test_covers_are_means_by_method_as_a_fraction() -> None:
    given = [score(s, ground_cover_percent=c) for s, c in ((1, 30.0), (4, 40.0), (2, 50.0), (3, 52.0))]
    found = covers_of(DRAW, records(*given))
    assert found == {"A": {DAY.date(): pytest.approx(0.35)}, "B": {DAY.date(): pytest.approx(0.51)}}


def test_a_walk_that_left_a_method_out_bends_no_curve() -> None:
    assert covers_of(DRAW, records(score(1, ground_cover_percent=30.0))) == {}
    assert covers_of(DRAW, records(*(score(s, lodged_percent=30.0) for s in range(1, 5)))) == {}


def test_the_list_has_every_strip_that_stands_up_one_and_down_the_next_and_no_method() -> None:
    events = [small.event("1+2+3+4", "sown"), small.event(2, "strip_lost", when=DAY)]
    spots = score_list(DRAW, Records(events=events))
    assert [(s.strip, s.way) for s in spots] == [(1, "up"), (3, "down"), (4, "up")]
    strip = DRAW.strips[0]
    xs, ys = zip(*strip.cut_outline[:4], strict=True)
    # A rectangle's middle is the mean of its corners; places are given to 1e-7 degrees (a centimetre).
    assert spots[0].lon == pytest.approx(sum(xs) / 4, abs=1e-7)
    assert spots[0].lat == pytest.approx(sum(ys) / 4, abs=1e-7)
    assert set(spots[0].as_dict()) == {"strip", "way", "lon", "lat"}
