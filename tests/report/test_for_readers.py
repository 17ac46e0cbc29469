"""Brackets for the command line go, other brackets stay, in every part of a document."""

from __future__ import annotations

import pytest

from evenground.report.document import Bullets, Column, Fact, Facts, Heading, Note, PageBreak, Paragraph, Table
from evenground.report.for_readers import for_readers, is_key, parts_for_readers


@pytest.mark.parametrize(
    ("said", "read"),
    [
        ("name the rows behind wheels (machines.wheel_rows).", "name the rows behind wheels."),
        ("never taken out (by_method = no says that it cannot)", "never taken out"),
        ("none is recorded (event product_changed, with its reason)", "none is recorded"),
        ("draw strips ('evenground layout'). They", "draw strips. They"),
        ("Count every row unit (evenground stand); then", "Count every row unit; then"),
        ("not asked yet (section [history] of trial.toml): drains", "not asked yet: drains"),
        ("services (basis/maize_coefficients.csv)", "services"),
        ("name one (outcome.laboratory or outcome.lab_method)", "name one"),
        ("taken as this (judgement (docs/compare.md))", "taken as this (judgement)"),
    ],
)
def test_brackets_for_the_command_line_go(said, read):
    assert for_readers(said) == read


@pytest.mark.parametrize(
    "said",
    [
        "the knoll (sandy)",
        "our photo (barn.jpg)",
        "a note (see my_own_list)",
        "at 9 (a.m.) and 1.5 (e.g.)",
        "strips 3 and 4 (soil)",
        "(0.4 t/ha)",
    ],
)
def test_other_brackets_stay(said):
    assert for_readers(said) == said


def test_plain_words_are_no_keys():
    assert [is_key(w) for w in ("soil", "trial", "soil.zones", "altitude_m", "strip_lost", "loads.x_y", "no_key")] == [
        False, False, True, True, True, False, False,
    ]  # fmt: skip


def test_every_part_is_read_so():
    said, read = "where (altitude_m)", "where"
    parts = (
        Heading(said),
        Paragraph(said),
        Note(said, said),
        Facts((Fact(said, said),)),
        Bullets((said,)),
        Table(said, (Column("a"),), ((said,),), said),
        PageBreak(),
    )
    assert parts_for_readers(parts) == (
        Heading(read),
        Paragraph(read),
        Note(read, read),
        Facts((Fact(read, read),)),
        Bullets((read,)),
        Table(read, (Column("a"),), ((read,),), read),
        PageBreak(),
    )
