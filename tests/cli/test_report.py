"""``evenground report``: files where they were asked for, JSON alone on standard output."""

from __future__ import annotations

import json
from datetime import date
from html import escape
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
import tomlkit
from tests import small_trial
from tests.report import fixture_verdict
from typer.testing import CliRunner

from evenground.adapters.trial_folder import TrialFolder
from evenground.basis.errors import InputError
from evenground.cli import report
from evenground.cli.app import build
from evenground.decide.verdict import verdict
from evenground.report.wording import signed


@pytest.fixture
def trial(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder whose verdict is the invented one."""

    def computed(stored: Any, *, today: date, version: str, years: Any) -> Any:
        assert years is None
        assert stored.field is not None
        assert isinstance(today, date)
        assert version
        return fixture_verdict.verdict()

    stored = SimpleNamespace(field=fixture_verdict.field(), draw=fixture_verdict.verdict().draw)
    monkeypatch.setattr(report, "store_at", lambda path: SimpleNamespace(load=lambda: stored))
    monkeypatch.setattr(report, "verdict", computed)
    return tmp_path


def test_writes_three_files_and_names_them(trial: Path, capsys: pytest.CaptureFixture[str]) -> None:
    report.run(trial, out=trial / "out", as_json=True)
    said = capsys.readouterr()
    files = json.loads(said.out)["files"]
    assert [Path(name).name for name in files] == ["report.pdf", "report.html", "strips.svg"]
    assert all(Path(name).parent == trial / "out" for name in files)
    starts = [Path(name).read_bytes()[:5] for name in files]
    assert starts == [b"%PDF-", b"<!doc", b"<svg "]
    assert "Comparing the strips." in said.err


def test_goes_into_the_trial_unless_told_otherwise(trial: Path, capsys: pytest.CaptureFixture[str]) -> None:
    report.run(trial)
    assert capsys.readouterr().out.splitlines() == [
        str(trial / "report" / name) for name in ("report.pdf", "report.html", "strips.svg")
    ]
    before = {path.name: path.read_bytes() for path in (trial / "report").iterdir()}
    report.run(trial)
    assert {path.name: path.read_bytes() for path in (trial / "report").iterdir()} == before


def test_says_where_it_cannot_write(trial: Path) -> None:
    (trial / "taken").write_text("a file, not a folder")
    with pytest.raises(InputError) as raised:
        report.run(trial, out=trial / "taken")
    assert [one.field for one in raised.value.problems] == ["--out"]


def test_whole_way_from_a_trial_folder(tmp_path: Path) -> None:
    """Folder read, verdict computed, files written; the numbers on the page are those of the verdict."""
    the_draw = small_trial.draw()
    content = small_trial.plan().model_dump(exclude_none=True, exclude_defaults=True, mode="json")
    folder = TrialFolder.create(tmp_path / "piece", tomlkit.dumps({**content, "format": 1}))
    folder.append_draw(the_draw)
    season = small_trial.whole_season(the_draw)
    for kind in ("loads", "weighings", "samples", "stand_counts", "events"):
        folder.append_records(getattr(season, kind))
    arguments = ["report", str(tmp_path / "piece"), "--out", str(tmp_path / "out"), "--json"]
    got = CliRunner().invoke(build(arguments), arguments)
    assert got.exit_code == 0, got.output
    assert set(json.loads(got.stdout)) == {"files"}
    page = (tmp_path / "out" / "report.html").read_text(encoding="utf-8")
    found = verdict(folder.load(), today=date(2025, 11, 3), version="0")
    assert escape(found.headline) in page
    assert f'<td class="right">{signed(found.main.comparison.gain, 2)}</td>' in page
