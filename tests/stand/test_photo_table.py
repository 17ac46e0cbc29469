"""The page's tables belong to the code, and what the page promises stands in them."""

from pathlib import Path

import pytest
from tests.stand.photo_table import BEGIN, COMMAND, END, HEADLINE, PATH, measure, tables

PAGE = (Path(__file__).parents[2] / PATH).read_text(encoding="utf-8")


def written():
    """Cells of the page by table and line: plants drawn, recall, precision."""
    out = {}
    for section in PAGE[PAGE.index(BEGIN) : PAGE.index(END)].split("\n### ")[1:]:
        title, *lines = section.splitlines()
        cells = [[c.strip() for c in line.strip("|").split("|")] for line in lines if line.startswith("| ")][1:]
        out[title] = {c[0]: (int(c[1]), float(c[2]), float(c[3])) for c in cells}
    return out


def test_the_page_has_the_tables_and_lines_of_the_code():
    assert f"`{COMMAND}`" in PAGE
    assert {t: list(lines) for t, lines in written().items()} == {
        t: [line.name for line in lines] for t, lines in tables().items()
    }


@pytest.mark.parametrize("leaves", [3, 4, 5])
def test_without_weeds_every_line_is_above_95_percent(leaves):
    cells = [c for name, c in written()[HEADLINE].items() if name.endswith(f"{leaves} leaves")]
    assert len(cells) == 4
    assert min(min(c[1:]) for c in cells) > 0.95


@pytest.mark.parametrize(
    ("title", "name"),
    [
        (HEADLINE, "narrow rows, 37.5 cm, 4 leaves"),
        ("Weeds, share of the green (4 leaves)", "40% anywhere"),
        ("Blur, standard deviation on the ground (4 leaves)", "12 mm"),
    ],
)
def test_a_small_version_agrees_with_the_page(title, name):
    line = next(one for one in tables()[title] if one.name == name)
    # two of the same scenes
    total = measure(line, 2)
    drawn, recall, precision = written()[title][name]
    # Two scenes against four or eight of the same kind: scenes differ by more than chance between plants does, hence
    # 0.08 beside three standard errors of a share.
    for got, page, n in ((total.recall, recall, total.true), (total.precision, precision, max(1, total.found))):
        assert got == pytest.approx(page, abs=0.08 + 3 * (page * (1 - page) / n) ** 0.5)
    assert total.true < drawn
