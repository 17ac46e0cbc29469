"""``evenground new``: a commented plan that says every key, passes the check and carries the defaults."""

from __future__ import annotations

import re
import tomllib

import pytest
from typer.testing import CliRunner

from evenground.adapters.new_trial import start_trial, template
from evenground.adapters.plan_file import read_plan
from evenground.basis.errors import InputError
from evenground.basis.observations import RECORD_KINDS
from evenground.basis.plan import Plan
from evenground.basis.record import models_in
from evenground.cli.app import build


def invoke(*words):
    return CliRunner().invoke(build(words), list(words))


def test_the_new_folder_passes_the_check_apart_from_the_outline(tmp_path):
    done = invoke("new", str(tmp_path / "t"))
    assert done.exit_code == 0
    assert sorted(p.name for p in (tmp_path / "t").iterdir()) == ["README.txt", "records", "trial.toml"]
    assert {p.stem for p in (tmp_path / "t/records").iterdir()} == set(RECORD_KINDS)
    checked = invoke("check", str(tmp_path / "t"))
    assert checked.exit_code == 0
    assert "Nothing is wrong" in checked.stdout
    assert "no field outline yet" in checked.stderr


def test_a_folder_with_something_in_it_is_refused(tmp_path):
    (tmp_path / "mine.txt").write_text("x")
    done = invoke("new", str(tmp_path))
    assert isinstance(done.exception, InputError)
    assert [p.name for p in tmp_path.iterdir()] == ["mine.txt"]


def test_the_season_can_be_said(tmp_path):
    assert invoke("new", str(tmp_path / "t"), "--season", "2031").exit_code == 0
    assert "season = 2031" in (tmp_path / "t/trial.toml").read_text()


def test_with_decimal_commas_records_go_in_and_out(tmp_path):
    assert invoke("new", str(tmp_path / "t"), "--decimal-comma").exit_code == 0
    folder = start_trial(tmp_path / "u", 2025, decimal_comma=True)
    with (folder.path / "records/samples.csv").open("a") as out:
        out.write("1;2025-09-09;;;;;;1;;;33,5\n2;2025-09-09;;;;;;2;1.012,5;330;\n")
    assert folder.problems() == []
    assert [s.dry_matter_percent for s in folder.load().records.samples] == [33.5, None]
    assert folder.load().records.samples[1].wet_g == 1012.5


def keys(model, path=""):
    for name, field in model.model_fields.items():
        inner = models_in(field.annotation)
        yield name, field, model
        if inner:
            yield from keys(inner[0], f"{path}{name}.")


@pytest.mark.parametrize("name", sorted({n for n, _, _ in keys(Plan)}))
def test_every_key_stands_in_the_template(name):
    assert re.search(rf"^(# )?(\[+([a-z_]+\.)*)?{name}\b", template(2026), re.MULTILINE)


def test_every_value_that_is_no_example_is_the_default():
    text = template(2026)
    examples = {line.split(" = ")[0].strip() for line in text.splitlines() if "EXAMPLE" in line}
    content = tomllib.loads(text)
    needed = {"season", "letter", "machine", "kind", "way", "method", "baseline", "staggered", "harvester"}

    def walk(model, values):
        for key, value in values.items():
            field = model.model_fields[key]
            if inner := models_in(field.annotation):
                for one in value if isinstance(value, list) else [value]:
                    walk(inner[0], one)
            elif key not in examples | needed and not field.is_required():
                default = field.get_default()
                assert value == (list(default) if isinstance(default, tuple) else default), key

    walk(Plan, content)


def test_every_value_has_a_comment_or_its_meaning_above():
    bare = [line for line in template(2026).splitlines() if re.match(r"[a-z_]+ = ", line) and "#" not in line]
    said = {line.split(" = ")[0] for line in template(2026).splitlines() if "#" in line}
    assert {line.split(" = ")[0] for line in bare} - said <= {
        "gain_source",
        "season_source",
        "strip_error_source",
        "paid_machine",
        "paid_laboratory",
        "baseline",
    }


def test_the_template_has_no_unknown_key():
    found = read_plan(template(2026).encode())
    assert found.problems == ()
    assert found.notes == ()
