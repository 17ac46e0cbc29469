"""Photographs of the crop walk: same spot side by side, neighbours together, few enough, with words for each."""

from datetime import date, datetime

import pytest
from tests import small_trial as small

from evenground.basis.days import said_day
from evenground.basis.observations import Records, RootPit, Scores
from evenground.report.document import Photos
from evenground.report.for_readers import with_texts
from evenground.report.photo_part import MOST_ACROSS, MOST_ROWS, photo_parts, spread_out
from evenground.season.crop_walk import Sighting, crop_walk

METHODS = {s.strip: s.method for s in small.draw().strips}


def score(strip, day="2025-06-09", n=0, **more):
    kept = {"photo": f"photos/{strip}-{day}-{n}.jpg", **more}
    return Scores(id=f"{strip}-{day}-{n}", time=datetime.fromisoformat(f"{day}T10:00"), strips=(strip,), **kept)


def parts(*scores, pits=()):
    return photo_parts(crop_walk(Records(scores=scores, root_pits=pits)), METHODS)


def test_nothing_where_nobody_took_one():
    assert parts(score(1, photo="", note="dry")) == ()


def test_those_of_one_spot_stand_side_by_side_in_the_order_of_time():
    (shown,) = parts(score(2, "2025-08-20"), score(1), score(2, "2025-06-09"), score(1, "2025-07-20"))
    files = [[p.file for p in row] for row in shown.rows]
    assert files == [
        ["photos/1-2025-06-09-0.jpg", "photos/1-2025-07-20-0.jpg"],
        ["photos/2-2025-06-09-0.jpg", "photos/2-2025-08-20-0.jpg"],
    ]
    assert shown.rows[1][1].caption == f"Strip 2 ({METHODS[2]}), {said_day(date(2025, 8, 20))}"


def test_one_walk_alone_puts_neighbouring_strips_together():
    (shown,) = parts(*(score(n) for n in range(1, 7)))
    assert [len(row) for row in shown.rows] == [2, 2, 2]
    assert [p.file[7] for p in shown.rows[0]] == ["1", "2"]


@pytest.mark.parametrize(("apart_deg", "rows"), [(0.0, 1), (0.00005, 1), (0.0004, 2)])
def test_places_far_apart_are_two_spots(apart_deg, rows):
    # 0.0004 degrees of latitude are 45 m, 0.00005 are 6 m.
    at = [score(1, lon=9.0, lat=51.0), score(1, "2025-07-20", lon=9.0, lat=51.0 + apart_deg), score(1, "2025-08-20")]
    (shown,) = parts(*at)
    assert len(shown.rows) == rows
    assert sum(map(len, shown.rows)) == 3


def test_there_are_never_too_many_and_it_says_so():
    days = [f"2025-0{m}-{d:02d}" for m in (6, 7) for d in range(1, 11)]
    (shown,) = parts(*(score(s, day) for s in range(1, 13) for day in days))
    assert len(shown.rows) == MOST_ROWS
    assert all(len(row) == MOST_ACROSS for row in shown.rows)
    assert shown.note.startswith("24 of 240 photographs")
    assert shown.rows[0][0].caption.endswith(said_day(date(2025, 6, 1)))
    assert shown.rows[0][-1].caption.endswith(said_day(date(2025, 7, 10)))


def test_first_and_last_are_always_among_those_shown():
    taken = [Sighting(1, date(2025, 6, d), None, None, f"{d}.jpg", "") for d in range(1, 12)]
    assert [s.day.day for s in spread_out(taken, 3)] == [1, 6, 11]
    assert spread_out(taken[:2], 3) == tuple(taken[:2])


def test_a_picture_named_twice_is_shown_once():
    (shown,) = parts(score(1, n=0, photo="photos/a.jpg"), score(1, n=1, photo="photos/a.jpg"), score(2))
    assert [p.file for row in shown.rows for p in row].count("photos/a.jpg") == 1


def test_the_alternative_says_what_was_scored_and_noted():
    (shown,) = parts(
        score(1, ground_cover_percent=45.0, leaf_rolling=6, disease="rust", diseased_percent=5, note="dry patch")
    )
    assert shown.rows[0][0].alt == (
        f"Photograph of strip 1 ({METHODS[1]}), {said_day(date(2025, 6, 9))}. Ground cover 45 %, leaf rolling 6, rust "
        "on 5 % of the plants. Dry patch."
    )


def test_pits_are_shown_apart():
    pit = RootPit(id="p", time=datetime(2025, 8, 20, 9), strips=(3,), deepest_root_cm=92, photo="photos/pit.jpg")
    (shown,) = parts(pits=[pit])
    assert shown.caption == "Root pits"
    assert "deepest root 92" in shown.rows[0][0].caption


def test_sentences_can_be_changed_and_files_stay():
    (shown,) = parts(score(1), score(2))
    other = with_texts(shown, str.upper)
    assert isinstance(other, Photos)
    assert other.rows[0][0].file == shown.rows[0][0].file
    assert other.rows[0][0].alt == shown.rows[0][0].alt.upper()
