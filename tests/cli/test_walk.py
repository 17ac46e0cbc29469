"""The command walk: scores by method and strip, the list without methods, faults named."""

from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
import tomlkit
from click.testing import Result
from tests import small_trial as small
from typer.testing import CliRunner

from evenground.adapters.trial_folder import TrialFolder
from evenground.basis.errors import InputError
from evenground.cli.app import build

HEADER = "id,time,strips,hidden,ground_cover_percent,photo,note\n"


@pytest.fixture
def trial(tmp_path: Path) -> Path:
    content = small.plan().model_dump(exclude_none=True, exclude_defaults=True, mode="json")
    folder = TrialFolder.create(tmp_path / "piece", tomlkit.dumps({**content, "format": 1}), None)
    folder.append_draw(small.draw(("AB", "BA", "AB")))
    folder.append_records([small.event("1+2+3+4+5+6", "sown")])
    return tmp_path / "piece"


def call(*words: object) -> Result:
    arguments = [str(w) for w in words]
    return CliRunner().invoke(build(arguments), arguments)


def write(trial: Path, *rows: str) -> None:
    (trial / "records/scores.csv").write_text(HEADER + "".join(f"{r}\n" for r in rows), encoding="utf-8")


def scored(trial: Path) -> None:
    covers = (31, 36, 41, 33, 28, 35)
    write(trial, *(f"s{n},2025-06-09T10:00,{n},true,{c},photos/{n}.jpg," for n, c in enumerate(covers, start=1)))


def test_means_differences_and_strips_in_one_object(trial: Path) -> None:
    scored(trial)
    got: dict[str, Any] = json.loads(call("walk", trial, "--json").stdout)
    (row,) = got["compared"]
    assert row["what"] == "ground cover, 9\xa0Jun\xa02025"
    # By hand: A 31, 33, 28; B 36, 41, 35.
    assert row["means"] == {"A": pytest.approx(92 / 3), "B": pytest.approx(112 / 3)}
    assert row["differences"][0]["difference"] == pytest.approx(20 / 3)
    assert got["figures"][0]["by_strip"]["2"] == 36.0
    assert (got["figures"][0]["hidden"], got["figures"][0]["scores"]) == (6, 6)
    assert got["seen"][0]["photo"] == "photos/1.jpg"
    assert got["notes"] == []


def test_a_figure_that_is_the_same_in_every_strip_is_not_called_too_few_strips(trial: Path) -> None:
    write(trial, *(f"s{n},2025-06-09T10:00,{n},true,40,," for n in range(1, 7)))
    shown = call("walk", trial).stdout
    assert "the same in every strip" in shown
    assert "too few strips" not in shown
    write(trial, *(f"s{n},2025-06-09T10:00,{n},true,{30 + n},," for n in (1, 2)))
    assert "too few strips" in call("walk", trial).stdout


def test_words_have_each_strip_and_the_difference(trial: Path) -> None:
    scored(trial)
    out = call("walk", trial).stdout
    assert "B - A +6.67" in out
    assert "photos/6.jpg" in out


def test_nothing_seen_yet_says_how_to_begin(trial: Path) -> None:
    assert "--list" in call("walk", trial).stdout


def test_the_list_names_strips_and_never_a_method(trial: Path) -> None:
    out = call("walk", trial, "--list").stdout
    assert [line.split()[0] for line in out.splitlines()[-6:]] == ["1", "2", "3", "4", "5", "6"]
    assert "Local rules go first" in out
    got = json.loads(call("walk", trial, "--list", "--json").stdout)
    assert [s["strip"] for s in got["list"]] == [1, 2, 3, 4, 5, 6]
    assert all(set(s) == {"strip", "way", "lon", "lat"} for s in got["list"])
    assert "ground_cover_percent" in got["columns"]


def test_all_faults_of_the_file_at_once_with_line_and_field(trial: Path) -> None:
    write(
        trial,
        "a,2025-06-09T10:00,1,true,130,,",
        "b,2025-06-09T10:00,1+2,true,30,,",
        "c,2025-06-09T10:00,2,true,,,",
        "d,2025-06-09T10:00,2,true,20,../x.jpg,",
    )
    with pytest.raises(InputError) as caught:
        raise call("walk", trial).exception or AssertionError
    said = [(p.row, p.field) for p in caught.value.problems]
    assert said == [(2, "ground_cover_percent"), (3, "strips"), (4, "ground_cover_percent"), (5, "photo")]


def test_scores_after_harvest_are_named(trial: Path) -> None:
    TrialFolder(trial).append_records([small.event(1, "harvested", when=datetime(2025, 6, 1))])
    scored(trial)
    with pytest.raises(InputError, match="the crop no longer stood"):
        raise call("walk", trial).exception or AssertionError


def test_the_sheet_to_score_on(trial: Path, tmp_path: Path) -> None:
    path = tmp_path / "walk.pdf"
    assert call("walk", trial, "--sheet", path, "--json").exit_code == 0
    assert path.read_bytes().startswith(b"%PDF")
    from evenground.cli import walk

    with pytest.raises(InputError, match="no such folder"):
        walk.run(trial, sheet=tmp_path / "nowhere" / "walk.pdf")
