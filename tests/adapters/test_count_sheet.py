"""The count sheet: every strip and row unit has its box, no method is named."""

import io

import pytest
from pypdf import PdfReader
from tests import small_trial as small

from evenground.adapters.count_sheet import count_sheet, sheet_content

PLAN, DRAW = small.plan(), small.draw()


@pytest.fixture(scope="module")
def pages():
    return PdfReader(io.BytesIO(count_sheet(PLAN, DRAW))).pages


def test_every_strip_is_on_it(pages):
    text = " ".join(p.extract_text() for p in pages)
    words = text.split()
    for strip in DRAW.strips:
        assert str(strip.strip) in words
    # a thousandth of a hectare at 75 cm
    assert "13.33 m" in text
    assert text.count("unit 4") == len(pages)  # the head is repeated


def test_the_method_is_hidden(pages):
    text = " ".join(p.extract_text() for p in pages)
    assert not any(m.name in text for m in PLAN.methods)


def test_the_caution_stands_on_every_page(pages):
    assert all("local rules" in " ".join(p.extract_text().split()) for p in pages)


def test_wide_planters_get_a_second_table():
    machines = [
        {"id": "four", "kind": "planter", "rows": 12, "row_spacing_m": 0.75},
        {"id": "pairs", "kind": "planter", "rows": 4, "row_spacing_m": 0.75},
    ]
    tables = sheet_content(small.plan(machines=machines), DRAW)["tables"]
    assert [t["units"] for t in tables] == [[str(u) for u in range(1, 9)], ["9", "10", "11", "12"]]
    # only the strips of the wide planter go on
    assert len(tables[0]["strips"]) == 16
    assert len(tables[1]["strips"]) == 8


def test_the_same_sheet_each_time():
    assert count_sheet(PLAN, DRAW) == count_sheet(PLAN, DRAW)


def test_typst_text_is_not_markup():
    name = "#panic[x] *odd* $name$"
    odd = small.plan(trial={"name": name, "season": 2025, "invented": True})
    assert name in " ".join(PdfReader(io.BytesIO(count_sheet(odd, DRAW))).pages[0].extract_text().split())
