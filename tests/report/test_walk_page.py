"""The page of the crop walk shows the verdict's own numbers, root pits apart, pictures with strip and place."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from typing import Any

from tests import small_trial as small
from tests.report import fixture_verdict

from evenground.basis.observations import Records, RootPit, Scores
from evenground.decide.walk_result import WalkResult, walk_result
from evenground.harvest.strips import harvest
from evenground.report.build import build
from evenground.report.document import Heading, Paragraph, Table
from evenground.report.walk_page import NEVER, pits_table, seen_table, walk_page, walk_table
from evenground.report.wording import signed

DRAW = small.draw()
DAY = datetime(2025, 6, 9, 10)


def score(strip: int, **values: Any) -> Scores:
    return Scores.model_validate({"id": f"s{strip}", "time": DAY, "strips": (strip,), **values})


def found(*pits: RootPit, **values: Any) -> WalkResult:
    scores = [score(s.strip, lodged_percent=float(s.strip % 5), **values) for s in DRAW.strips]
    records = small.replaced(small.whole_season(DRAW), scores=scores, root_pits=pits)
    return walk_result(small.plan(), DRAW, records, harvest(small.plan(), DRAW, records))


def page(walk: WalkResult | None) -> tuple[Any, ...]:
    return walk_page(replace(fixture_verdict.verdict(), walk=walk))


def test_without_a_walk_there_is_no_page() -> None:
    assert page(None) == ()
    heads = [p.text for p in build(fixture_verdict.verdict(), None).parts if isinstance(p, Heading)]
    assert "Seen in the crop" not in heads


def test_it_stands_before_the_adviser() -> None:
    document = build(replace(fixture_verdict.verdict(), walk=found()), None)
    heads = [next(p.text for p in one if isinstance(p, Heading)) for one in document.pages]
    assert heads[heads.index("Seen in the crop") + 1] == "For the adviser"


def test_the_table_has_means_difference_and_who_knew() -> None:
    walk = found(hidden=True)
    (row,) = walk_table(walk).rows
    (result,) = walk.rows[0].results
    assert row[:2] == ("Lodging, 9\xa0Jun\xa02025", "%")
    assert row[2:4] == tuple(f"{walk.rows[0].means[m]:.1f}" for m in "AB")
    assert row[4] == f"B − A {signed(result.difference, 1)}"
    assert row[-1] == "16 of 16"


def test_open_scores_are_said_in_words() -> None:
    said = [p.text for p in page(found()) if isinstance(p, Paragraph)]
    assert any("16 of 16 scores were not taken with the method hidden" in text for text in said)


def test_pits_are_shown_and_said_to_decide_nothing() -> None:
    pits = (
        RootPit(id="p", time=DAY, strips=(3,), deepest_root_cm=85.0, grid_count=44, grid_squares=100, grid_square_cm=5),
        RootPit(id="q", time=DAY, strips=(4,), photo="photos/pit.jpg"),
    )
    table = pits_table(pits)
    assert table.note == NEVER
    assert table.rows[0][:4] == ("3", "9\xa0Jun\xa02025", "85", "44 of 100 of 5.0 cm")
    assert table.rows[1][4] == "photos/pit.jpg"
    assert any(isinstance(p, Table) and p.caption == "Root pits" for p in page(found(*pits)))


def test_pictures_carry_strip_and_place() -> None:
    given = score(2, photo="photos/2.jpg", lon=9.5, lat=51.25)
    records = Records(scores=[given])
    walk = walk_result(small.plan(), DRAW, records, harvest(small.plan(), DRAW, records)).walk
    assert seen_table(walk.seen).rows == (("2", "9\xa0Jun\xa02025", "51.25000, 9.50000", "photos/2.jpg", "–"),)
