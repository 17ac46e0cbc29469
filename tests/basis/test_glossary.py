"""Every name that carries a unit is explained with that unit; every screen word has its German one."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

import evenground
from evenground.basis.glossary import ENDINGS, ending, glossary

SOURCE = Path(evenground.__file__).parent
# Names that end like a unit but hold something else.
NO_UNIT = {
    "weak_points": "points of a text",
    "metering_units": "parts of a machine, counted",
}
DESIGN_WORDS = [
    "trial",
    "method",
    "baseline",
    "pass",
    "strip",
    "block",
    "headland",
    "guard_rows",
    "cut",
    "stand",
    "growing_space",
    "load",
    "weighing",
    "sample",
    "gain",
    "worthwhile_gain",
    "detectable_gain",
    "verdict",
    "record",
]


def names():
    """Names of fields and of parameters of public functions, with where they stand."""
    for path in sorted(SOURCE.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
                found = [a.arg for a in node.args.posonlyargs + node.args.args + node.args.kwonlyargs]
            elif isinstance(node, ast.ClassDef):
                found = [
                    b.target.id for b in node.body if isinstance(b, ast.AnnAssign) and isinstance(b.target, ast.Name)
                ]
            else:
                continue
            for name in found:
                yield name, str(path.relative_to(SOURCE))


def test_every_name_with_a_unit_is_in_the_glossary_with_that_unit():
    there = glossary()
    missing = sorted(
        {
            f"{name} ({where}): unit {' or '.join(ENDINGS[end])}"
            for name, where in names()
            if (end := ending(name)) and name not in NO_UNIT
            if name not in there or there[name].unit not in ENDINGS[end]
        }
    )
    assert not missing, "add to basis/glossary.csv:\n" + "\n".join(missing)


def test_exceptions_are_still_needed():
    assert set(NO_UNIT) <= {name for name, _ in names()}


@pytest.mark.parametrize("word", DESIGN_WORDS)
def test_the_trades_words_are_there_in_both_languages(word):
    entry = glossary()[word]
    assert entry.meaning
    assert entry.english
    assert entry.german


def test_screen_words_have_german_ones_and_every_entry_a_meaning():
    for entry in glossary().values():
        assert bool(entry.english) == bool(entry.german), entry.name
        assert entry.meaning, entry.name
        assert entry.name == entry.name.strip().lower(), entry.name


def test_units_of_entries_agree_with_their_names():
    for entry in glossary().values():
        if end := ending(entry.name):
            assert entry.unit in ENDINGS[end], entry.name


def test_one_word_for_one_thing():
    words = [e.english for e in glossary().values() if e.english]
    assert len(words) == len(set(words))
    assert len((SOURCE / "basis/glossary.csv").read_text(encoding="utf-8").splitlines()) == len(glossary()) + 1
