"""Plants taken out and put in by hand."""

import pytest

from evenground.basis.errors import InputError
from evenground.stand.photo.corrections import Change, corrected
from evenground.stand.photo.found import Found, Plant
from evenground.stand.photo.rows import Line, Rows


@pytest.fixture
def found():
    """Two rows along x at y = 0.5 and 1.25 m, 2 mm a pixel, 3 m by 2 m."""
    rows = Rows(0.0, ((Line(0.5, 0.0, 0.0, 3.0),), (Line(1.25, 0.0, 0.0, 3.0),)))
    plants = tuple(Plant(r, 1, x, x / 0.002, y / 0.002) for r, y in ((1, 0.5), (2, 1.25)) for x in (0.5, 1.0, 1.5))
    return Found(plants, rows, 0.002, (1500, 1000), 0.05, 0.0, 0.2, 0.1, 0.07)


def test_one_out_one_in(found):
    after = corrected(found, [Change(2, "remove", 505, 255), Change(3, "add", 400, 630)], "fix.csv")
    assert [p.position_m for p in after.plants] == pytest.approx([0.5, 1.5, 0.5, 0.8, 1.0, 1.5])
    assert [p.origin for p in after.plants].count("added") == 1
    assert after.plants[3].row == 2
    assert len(found.plants) == 6


def test_in_their_order(found):
    # a place just added can be taken out again
    assert corrected(found, [Change(2, "add", 400, 250), Change(3, "remove", 400, 250)], "f").plants == found.plants


def test_every_fault_at_once(found):
    changes = [
        Change(2, "remove", 375, 250),
        Change(3, "add", 400, 440),
        Change(4, "add", 2000, 250),
        Change(5, "add", 500, 250),
    ]
    with pytest.raises(InputError) as error:
        corrected(found, changes, "fix.csv")
    assert [(p.file, p.row) for p in error.value.problems] == [("fix.csv", n) for n in (2, 3, 4, 5)]
    for words in ("no plant to take out", "no row runs here", "outside the photograph", "a plant here already"):
        assert words in str(error.value)
    assert "400, 440" in str(error.value)


def test_nothing_to_correct(found):
    assert corrected(found, [], "fix.csv") == found
