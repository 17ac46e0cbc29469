"""The folder as a store: nothing lost, nothing rewritten unasked, and byte-identical after every error."""

from __future__ import annotations

import json
import multiprocessing
from datetime import datetime
from pathlib import Path

import pytest
from shapely.geometry import MultiPolygon, box
from tests import small_trial as t

from evenground.adapters.files import write_atomically, writer_lock
from evenground.adapters.plan_file import plan_text
from evenground.adapters.trial_folder import TrialFolder
from evenground.basis.errors import EvengroundError, InputError, LockedError
from evenground.basis.field import Field
from evenground.basis.observations import RECORD_KINDS
from evenground.basis.store import TrialStore

PLAN = t.plan()
DRAW = t.draw()
SEASON = t.whole_season(DRAW)
EVERY = [r for kind in RECORD_KINDS for r in getattr(SEASON, kind)]
FIELD = Field(MultiPolygon([box(9.0, 51.0, 9.003, 51.003)]), MultiPolygon())


@pytest.fixture
def folder(tmp_path):
    made: TrialStore = TrialFolder.create(tmp_path / "trial", plan_text(PLAN), FIELD)
    return made


def whole(folder):
    return {p.relative_to(folder.path): p.read_bytes() for p in folder.path.rglob("*") if p.is_file()}


@pytest.fixture
def unchanged(folder):
    """Fails unless the folder is byte-identical afterwards."""
    folder.append_draw(DRAW)
    folder.append_records(EVERY)
    before = whole(folder)
    yield folder
    assert whole(folder) == before


def test_everything_stored_is_loaded_the_same(folder):
    folder.append_draw(DRAW)
    assert folder.append_records(EVERY) == len(EVERY)
    stored = folder.load()
    assert (stored.plan, stored.field, stored.draws, stored.records) == (PLAN, FIELD, (DRAW,), SEASON)
    assert folder.problems() == []


def test_sending_twice_stores_once(unchanged):
    assert unchanged.append_records(EVERY) == 0


def test_a_draw_locks(unchanged):
    with pytest.raises(LockedError, match="reason"):
        unchanged.append_draw(DRAW)
    with pytest.raises(LockedError):
        unchanged.append_draw(DRAW.model_copy(update={"number": 2, "reason": "  "}))


def test_a_new_draw_with_a_reason_keeps_the_old_one(folder):
    folder.append_draw(DRAW)
    again = DRAW.model_copy(update={"number": 2, "reason": "rain"})
    folder.append_draw(again)
    assert folder.load().draws == (DRAW, again)
    assert folder.load().draw == again


def test_draws_out_of_order_are_refused(unchanged):
    with pytest.raises(InputError, match="numbered"):
        unchanged.append_draw(DRAW.model_copy(update={"number": 5, "reason": "x"}))


def test_drawn_letters_must_be_in_the_plan(unchanged):
    odd = t.draw(("AC", "CA")).model_copy(update={"number": 2, "reason": "x"})
    with pytest.raises(InputError, match="not in the plan"):
        unchanged.append_draw(odd)


@pytest.mark.parametrize(
    "record",
    [
        t.load(1, trailer="other"),
        t.load(99, n=2),
        t.weighing("no such load", 900),
        t.event(1, "sown", n=2, method="C"),
        t.sample(1, 33.0, n=2, replaces="nobody"),
        t.load(1, n=2).model_copy(update={"time": datetime(2020, 1, 1)}),
        t.load(1, n=2, note="a\x00b"),
    ],
)
def test_records_that_cannot_be_are_refused_whole(unchanged, record):
    with pytest.raises(InputError):
        unchanged.append_records([t.sample(2, 33.0, n=5), record])


def test_a_plan_that_is_none_is_refused(unchanged):
    with pytest.raises(InputError, match="guard_rows"):
        unchanged.change_plan({"layout.guard_rows": 99})
    with pytest.raises(InputError, match="TOML"):
        unchanged.save_plan("a =")


def test_plan_versions_are_kept_and_comments_survive(folder):
    text = "# our own words\n" + folder.plan_text().replace("guard_rows = 1", "guard_rows = 1 # two machines")
    folder.save_plan(text)
    folder.save_plan(text)
    folder.change_plan({"layout.guard_rows": 2})
    assert folder.plan_text() == text.replace("guard_rows = 1", "guard_rows = 2")
    assert [p.name for p in sorted((folder.path / "versions").iterdir())] == ["trial-001.toml", "trial-002.toml"]
    assert (folder.path / "versions/trial-001.toml").read_text() == plan_text(PLAN)
    assert folder.load().plan.layout.guard_rows == 2


def test_a_plan_changed_after_the_draw_is_noted(folder):
    folder.append_draw(DRAW.model_copy(update={"plan_hash": folder.load().plan_hash}))
    assert folder.notes() == ()
    folder.change_plan({"layout.guard_rows": 2})
    assert "changed after the strips were drawn" in folder.notes()[0]


HAND = (
    "\ufeffmoon;id;time;replaces;note;load;scale;gross_lb;tare_t;who;lon;lat\r\n"
    "full;1;09.09.2025 10:00;;grün;L1-1;;30.500,5;9,25;Al;;"
)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16", "cp1252"])
def test_appending_keeps_every_byte_and_the_ways_of_the_file(folder, encoding):
    text = HAND if encoding == "utf-8" else HAND[1:]
    path = folder.path / "records/weighings.csv"
    folder.append_records(SEASON.loads)
    path.write_bytes(before := text.encode(encoding))
    new = t.weighing("L2-1", 14_000.125, scale="a;b", note="Höhe")
    folder.append_records([new])
    after = path.read_bytes()
    assert after.startswith(before)
    lines = after.decode("utf-8-sig" if encoding == "utf-8" else encoding).split("\r\n")
    assert lines[2].startswith(';W-L2-1-1;2025-09-09T09:00:00;;Höhe;L2-1;"a;b";')
    assert folder.load().records.weighings[1] == new
    # 30 500.5 lb at 0.45359237 kg/lb, exactly 13834.794081185 kg
    assert folder.load().records.weighings[0].gross_kg == 13834.794081185


def test_a_sign_the_encoding_cannot_hold_is_refused(folder):
    (folder.path / "records/loads.csv").write_bytes(
        "id,time,strips,who,lon,lat,replaces,note,trailer\n1,2025-09-09,1,Jürg,,,,,\n".encode("cp1252")
    )
    before = whole(folder)
    with pytest.raises(InputError, match="encoding"):
        folder.append_records([t.load(2, note="漢")])
    assert whole(folder) == before


def test_a_missing_column_is_asked_for_not_dropped(folder):
    (folder.path / "records/loads.csv").write_text("id,time,strips\n1,2025-09-09,1\n")
    before = whole(folder)
    with pytest.raises(InputError, match="header line"):
        folder.append_records([t.load(2, trailer="red one")])
    assert whole(folder) == before
    assert folder.append_records([t.load(2)]) == 1


def test_hashes_do_not_depend_on_how_a_file_is_written(folder):
    folder.append_records(SEASON.loads)
    first = folder.load()
    path = folder.path / "records/loads.csv"
    rows = [line.split(",") for line in path.read_text().splitlines()]
    turned = [rows[0], *reversed(rows[1:])]
    path.write_text("\n".join(";".join(reversed(r)) for r in turned))
    plan = folder.plan_text()
    folder.save_plan("# note\n" + plan)
    assert folder.load().records_hash == first.records_hash
    assert folder.load().plan_hash == first.plan_hash
    path.write_text(path.read_text().replace("L3-1", "L3-x"))
    assert folder.load().records_hash != first.records_hash


def test_every_problem_of_the_folder_at_once(folder):
    folder.append_draw(DRAW)
    (folder.path / "trial.toml").write_text(folder.plan_text().replace("season = 2025", "season = 25"))
    (folder.path / "field.geojson").write_text("{}")
    data = json.loads((folder.path / "strips.geojson").read_text())
    data["evenground"]["draws"][0]["strips"][1]["strip"] = 1
    (folder.path / "strips.geojson").write_text(json.dumps(data))
    (folder.path / "records/loads.csv").write_text("id,time\n1,2025-09-09\n")
    (folder.path / "records/samples.csv").write_text("id,time,strips,dry_matter_percent\n1,2025-09-09,1,330\n")
    before = whole(folder)
    with pytest.raises(InputError) as caught:
        folder.load()
    assert list(caught.value.problems) == folder.problems()
    assert {(p.file, p.row, p.field) for p in caught.value.problems} == {
        ("trial.toml", None, "trial.season"),
        ("field.geojson", None, "type"),
        ("strips.geojson", None, "evenground.draws[0].strips"),
        ("records/loads.csv", 1, "strips"),
        ("records/samples.csv", 2, "dry_matter_percent"),
    }
    assert whole(folder) == before


def test_unknown_strips_and_letters_carry_their_line(folder):
    folder.append_draw(DRAW)
    (folder.path / "records/events.csv").write_text(
        "id,time,strips,event,method\n1,2025-05-01,1,sown,A\n\n2,2025-05-01,77,sown,Q\n"
    )
    assert [(p.file, p.row, p.field, p.given) for p in folder.problems()] == [
        ("records/events.csv", 4, "strips", "77"),
        ("records/events.csv", 4, "method", "Q"),
    ]


def test_one_faulty_line_does_not_bring_others_down(folder):
    folder.append_records([*SEASON.loads, *SEASON.weighings])
    path = folder.path / "records/loads.csv"
    path.write_text(path.read_text().replace("L1-1,2025", "L1-1,someday 2025"))
    assert [(p.file, p.field) for p in folder.problems()] == [("records/loads.csv", "time")]


def test_the_user_can_say_how_a_file_is_written(folder):
    folder.append_records(SEASON.loads)
    (folder.path / "records/weighings.csv").write_text(
        "id;time;load;gross_kg;tare_kg\n1;08/09/2025;L1-1;14.500;9.000\n"
    )
    assert {p.field for p in folder.problems()} == {"gross_kg", "time"}
    said = '\n[files."records/weighings.csv"]\nnumber_style = "1.234,5"\ndate_style = "MM/DD/YYYY"\n'
    (folder.path / "trial.toml").write_text(folder.plan_text() + said)
    assert [p.message for p in folder.problems()] == ["the load was weighed before it was harvested."]
    (folder.path / "trial.toml").write_text(
        folder.plan_text().replace("MM/DD", "DD/MM").replace('"1.234,5"', '"1.234,5" # slips')
    )
    (folder.path / "records/weighings.csv").write_text(
        "id;time;load;gross_kg;tare_kg\n1;10/09/2025;L1-1;14.500;9.000\n"
    )
    assert folder.load().records.weighings[0].net_kg == 5500
    assert "records/weighings.csv: 14.500 is read as 14 500 (decimal comma)" in folder.notes()


def test_files_nobody_reads_are_noted(folder):
    (folder.path / "records/weighing.csv").write_text("x")
    (folder.path / "records/photos.txt").write_text("x")
    assert [n for n in folder.notes() if "not read" in n] == [
        "records/photos.txt is kept but not read.",
        "records/weighing.csv is kept but not read. Is weighings.csv meant?",
    ]


def test_folders_that_are_none(tmp_path):
    with pytest.raises(InputError, match="no such folder"):
        TrialFolder(tmp_path / "none")
    with pytest.raises(InputError, match=r"trial\.toml"):
        TrialFolder(tmp_path)
    (tmp_path / "mine.txt").write_text("x")
    with pytest.raises(InputError, match="something here already"):
        TrialFolder.create(tmp_path, plan_text(PLAN))
    with pytest.raises(InputError, match="missing"):
        TrialFolder.create(tmp_path / "new", "format = 1")
    assert not (tmp_path / "new").exists()


def test_a_write_that_fails_leaves_the_old_file_and_nothing_else(tmp_path, monkeypatch):
    path = tmp_path / "a.csv"
    path.write_bytes(b"old")
    path.chmod(0o640)

    def broken(*_):
        raise OSError("cable")

    monkeypatch.setattr("os.fsync", broken)
    with pytest.raises(OSError, match="cable"):
        write_atomically(path, b"new")
    assert [p.read_bytes() for p in tmp_path.iterdir()] == [b"old"]
    monkeypatch.undo()
    write_atomically(path, b"new")
    assert path.read_bytes() == b"new"
    assert path.stat().st_mode & 0o777 == 0o640


def test_a_link_is_followed(tmp_path):
    (tmp_path / "real.csv").write_text("old")
    (tmp_path / "link.csv").symlink_to("real.csv")
    write_atomically(tmp_path / "link.csv", b"new")
    assert (tmp_path / "link.csv").is_symlink()
    assert (tmp_path / "real.csv").read_text() == "new"


def _append(path: Path, first: int) -> None:
    folder = TrialFolder(path)
    for n in range(first, first + 8):
        folder.append_records([t.load(1, n=n)])


def test_two_writers_lose_nothing(folder):
    context = multiprocessing.get_context("spawn")
    writers = [context.Process(target=_append, args=(folder.path, 100 * k)) for k in (1, 2)]
    for w in writers:
        w.start()
    for w in writers:
        w.join(60)
    assert [w.exitcode for w in writers] == [0, 0]
    assert len(folder.load().records.loads) == 16


def test_a_busy_folder_says_so(folder):
    with (
        writer_lock(folder.path),
        pytest.raises(EvengroundError, match="another program"),
        writer_lock(folder.path, 0.05),
    ):
        pass
