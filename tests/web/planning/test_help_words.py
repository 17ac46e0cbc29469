"""Help beside the fields of the plan: nothing said twice, no names of files or keys, no code words of choices."""

from __future__ import annotations

import re

import pytest

from evenground.basis.plan import Plan
from evenground.basis.record import models_in
from evenground.report.for_readers import is_key
from evenground.web.core_words import core_words
from evenground.web.planning.help_words import help_words, limits_words, lines_in_words
from evenground.web.planning.plan_fields import _is_list, fields_of

WEIGHED = (("weighbridge", "weighbridge"), ("mixer_wagon", "feed-mixer wagon"), ("hand_cut", "rows cut by hand"))


def every_field():
    """All fields of the plan, lists of records with one entry."""

    def walk(model, prefix):
        yield from fields_of(model, prefix, None, "EUR", {})
        for name, info in model.model_fields.items():
            if _is_list(info.annotation):
                for inner in models_in(info.annotation):
                    yield from walk(inner, f"{prefix}.{name}[0]")

    for name, info in Plan.model_fields.items():
        for inner in models_in(info.annotation):
            yield from walk(inner, f"{name}[0]" if _is_list(info.annotation) else name)


@pytest.mark.parametrize("field", list(every_field()), ids=lambda f: f.path)
def test_help_is_in_the_words_of_the_page(field):
    shown = core_words(field.help)
    words = re.findall(r"[a-z][a-z0-9]*(?:[_.][a-z0-9]+)+", shown)
    assert not [w for w in words if is_key(w)]
    assert "docs/" not in shown
    assert "this line" not in shown
    assert shown.casefold().strip(". ") != str(field.label).casefold()
    assert "e+" not in field.limits
    assert not [value for value, _words in field.choices if "_" in value and value in shown]
    if field.unit:
        assert not re.search(rf"(?:^|, ){re.escape(str(field.unit))}(?:$|;)", shown)


@pytest.mark.parametrize(
    ("note", "label", "unit", "choices", "help"),
    [
        ("year of harvest", "Year of harvest", "", (), ""),
        ("fuel, wear and labour", "Fuel, labour", "", (), "fuel, wear and labour"),
        ("its edition, such as the year", "Its edition", "", (), "such as the year"),
        ("m; rows times spacing is the width", "Row spacing", "m", (), "rows times spacing is the width"),
        ("true by the sea; used for radiation", "By the sea", "", (), "used for radiation"),
        ("height, m; without this line 100 m is taken", "Height above", "m", (), "if left empty, 100 m is taken"),
        ("weighbridge, mixer_wagon or hand_cut; its cost is told", "How", "", WEIGHED, "its cost is told"),
        ("not hand_cut where rows lie", "How", "", WEIGHED, "not rows cut by hand where rows lie"),
    ],
)  # fmt: skip
def test_what_is_left_of_a_note(note, label, unit, choices, help):  # noqa: A002 - as the function calls it
    assert help_words(note, label, unit, choices) == help


def test_large_limits_have_spaces():
    assert limits_words("1000 to 500000").replace("\N{NARROW NO-BREAK SPACE}", " ") == "1000 to 500 000"


def test_lines_that_are_no_choice_stay():
    assert lines_in_words("hand_cut\nby eye", WEIGHED) == "rows cut by hand\nby eye"
