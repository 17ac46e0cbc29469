"""The page on the trial folder names every key of the plan, every kind of record and every column."""

from __future__ import annotations

import json
import re
import tomllib
from pathlib import Path

import pytest

from evenground.adapters.geojson import POSITION_CHECKED, read_field
from evenground.adapters.number_style import STYLES
from evenground.adapters.record_table import read_records
from evenground.basis.observations import EVENT_KINDS, RECORD_KINDS
from evenground.basis.plan import Plan
from evenground.basis.record import models_in

PAGE = (Path(__file__).parents[2] / "docs/trial-folder.md").read_text(encoding="utf-8")
SAID = set(re.findall(r"`([^`\n]+)`", PAGE))


def keys(model):
    for name, field in model.model_fields.items():
        inner = models_in(field.annotation)
        if inner:
            assert re.search(rf"`\[+(\w+\.)*{name}\]+`", PAGE), name
            yield from keys(inner[0])
        elif name != "format":
            yield name


@pytest.mark.parametrize("name", sorted(set(keys(Plan))))
def test_every_key_of_the_plan_is_described(name):
    assert name in SAID


@pytest.mark.parametrize("kind", sorted(RECORD_KINDS))
def test_every_column_of_every_kind_is_described(kind):
    assert kind in SAID
    rows = re.search(rf"\| `{kind}` \|.*?(?=\n\| `|\n\n)", PAGE, re.DOTALL)[0]
    shared = {"id", "time", "who", "note", "lon", "lat", "replaces"}
    missing = [c for c in RECORD_KINDS[kind].model_fields if c not in shared and f"`{c}`" not in rows]
    assert missing == []
    assert shared <= SAID


def test_every_style_event_and_switch_is_described():
    assert set(STYLES) <= SAID
    assert set(EVENT_KINDS) <= SAID
    assert f'"{POSITION_CHECKED}": true' in SAID


def test_the_examples_are_sound():
    toml, geo, table = (re.search(rf"```{k}\n(.*?)```", PAGE, re.DOTALL)[1] for k in ("toml", "json", "csv"))
    assert tomllib.loads(toml)["files"]["records/weighings.csv"]["number_style"] in STYLES
    assert read_field(json.dumps(json.loads(geo)).encode()).problems == ()
    assert read_records(table.encode(), "weighings", file="w.csv").problems == ()
