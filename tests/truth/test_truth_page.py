"""The written page belongs to the code: same command, seed, size, tables, columns and rows."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.truth.page import COMMAND, PATH, SEED, TABLES, build, head

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def page() -> str:
    return (ROOT / PATH).read_text(encoding="utf-8")


def test_the_page_names_the_command_and_seed_of_the_code(page):
    assert page.startswith(head(1.0, SEED))
    assert f"`{COMMAND}`" in page


def test_make_truth_runs_that_command(page):
    assert f"python -m {COMMAND.removeprefix('python -m ')}" in (ROOT / "Makefile").read_text(encoding="utf-8")


@pytest.mark.truth
@pytest.mark.parametrize(("place", "name"), list(enumerate(TABLES)))
def test_the_page_has_the_tables_of_the_code(page, place, name):
    # One hundredth is enough to see titles, texts, columns and rows; the numbers are the full run's.
    table = build(name, 0.01, SEED)
    section = page.split("\n## ")[1:][place]
    assert section.startswith(table.title + "\n")
    assert table.question in section
    assert table.assumptions in section
    assert table.note in section
    lines = [line for line in section.splitlines() if line.startswith("|")]
    assert lines[0] == table.heading()
    assert len(lines) == len(table.rows) + 2
    for line, row in zip(lines[2:], table.rows, strict=True):
        assert line.startswith(f"| {row.labels[0]} |")


def test_the_page_has_no_other_tables(page):
    assert page.count("\n## ") == len(TABLES)
