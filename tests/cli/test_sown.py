"""evenground sown: entries, logs that are looked at or kept, and logs that are not of this trial."""

import json
from datetime import timedelta

import pytest
import tomlkit
from tests import driven, time_logs
from tests import small_trial as small
from typer.testing import CliRunner

from evenground.adapters.trial_folder import TrialFolder
from evenground.basis.errors import InputError
from evenground.basis.harvest_records import CutArea
from evenground.basis.observations import MeasuredJoint
from evenground.cli import sown
from evenground.cli.app import build
from evenground.harvest.strips import harvest

runner = CliRunner()
A_STRIPS = [s.strip for s in small.draw().strips if s.method == "A"]


@pytest.fixture
def trial(tmp_path):
    content = small.plan().model_dump(exclude_none=True, exclude_defaults=True, mode="json")
    folder = TrialFolder.create(tmp_path / "piece", tomlkit.dumps({**content, "format": 1}))
    folder.append_draw(small.draw())
    return folder


def say(trial, *words):
    got = runner.invoke(build(["sown"]), ["sown", str(trial.path), *map(str, words)], catch_exceptions=False)
    assert got.exit_code == 0, got.output
    return got


def as_json(trial, *words):
    return json.loads(say(trial, *words, "--json").stdout)


def write(trial, text):
    path = trial.path.parent / "planter.csv"
    path.write_text(text)
    return path


def faults(trial, *words):
    with pytest.raises(InputError) as caught:
        runner.invoke(build(["sown"]), ["sown", str(trial.path), *map(str, words)], catch_exceptions=False)
    return caught.value.problems


def events_text(trial):
    path = trial.path / "records/events.csv"
    return path.read_text() if path.exists() else ""


def test_entries_by_strip_in_words_and_numbers(trial):
    trial.append_records(
        [
            *[small.event(s.strip, "sown", method=s.method, seed_lot="L1") for s in small.draw().strips[:6]],
            small.event(7, "sown", 1, method="B", speed_km_per_h=8.5, stops=2, rows_off=1, seed_lot="L2"),
            CutArea(id="c", time=small.AUTUMN, strips="7", rows=6, length_m=300.0, joints="0.80"),
        ]
    )
    text = say(trial).stdout
    assert "Strip 7 was drawn A and sown B: it counts as B; its block (4) leaves the randomisation test." in text
    assert "No entry for strips 8, 9, 10, 11, 12, 13, 14, 15, 16: taken as sown as drawn." in text
    assert "1 joint measured, mean 80 cm where 75 cm was ordered; the weighed area is 1.1 % larger" in text
    (row,) = [line.split() for line in text.splitlines() if line.startswith("7 ")]
    assert row[:4] == ["7", "4", "A", "B"]
    assert "8.5" in row
    assert "L2" in row
    got = as_json(trial)
    seventh = got["strips"][6]
    assert (seventh["drawn"], seventh["sown"], seventh["stops"], seventh["rows_off"]) == ("A", "B", 2, 1)
    assert seventh["joints"]["area_factor"] == pytest.approx(4.55 / 4.5)
    assert got["stored"] is None


def test_a_log_is_looked_at_and_nothing_is_kept(trial):
    path = write(trial, driven.table(*driven.strip_passes(1), *driven.strip_passes(2)))
    got = say(trial, "--log", path, "--method", "A")
    assert "does not count yet" in got.stderr
    assert "Strip 2 was drawn B and sown A" in got.stdout
    assert events_text(trial) == ""


def test_a_log_is_kept_once(trial):
    path = write(trial, driven.table(*[p for s in A_STRIPS for p in driven.strip_passes(s)]))
    first = as_json(trial, "--log", path, "--method", "A", "--store")
    assert first["stored"] == len(A_STRIPS)
    before = events_text(trial)
    path = path.rename(path.with_name("renamed.csv"))
    assert as_json(trial, "--log", path, "--method", "A", "--store")["stored"] == 0
    assert events_text(trial) == before
    kept = {s["strip"]: s for s in as_json(trial)["strips"]}
    for strip in A_STRIPS:
        assert kept[strip]["speed_km_per_h"] == pytest.approx(7.2, abs=0.01)
        assert kept[strip]["entries"] == 1


def test_a_wrong_strip_kept_from_the_log_is_harvested_as_sown(trial):
    path = write(trial, driven.table(*driven.strip_passes(2)))
    say(trial, "--log", path, "--method", "A", "--store")
    stored = trial.load()
    found = {s.strip: s for s in harvest(stored.plan, stored.draw, stored.records).strips}
    assert (found[2].drawn_method, found[2].method) == ("B", "A")


def test_what_the_log_said_in_words_stays_when_it_is_kept(trial):
    skipping = driven.rows_closed(driven.drive(7.5), first_m=100, last_m=150)
    path = write(trial, driven.table(skipping, driven.drive(10.5), driven.drive(13.5, end=200.0)))
    kept = say(trial, "--log", path, "--method", "A", "--store").stdout
    for text in (kept, say(trial).stdout):
        assert text.count("Strip 2: 33 % of it, drawn B, was sown by A's planter.") == 1
        assert text.count("m of single row left out") == 1


def test_the_same_log_as_another_method_is_refused(trial):
    path = write(trial, driven.table(*driven.strip_passes(1)))
    say(trial, "--log", path, "--method", "A", "--store")
    before = events_text(trial)
    (fault,) = faults(trial, "--log", path, "--method", "B", "--store")
    assert (fault.field, fault.file) == ("id", "records/events.csv")
    assert events_text(trial) == before


GOOD = driven.table(*driven.strip_passes(1))
FIRST = GOOD.splitlines()[1]


def with_line(number, cells):
    """The good log with some cells of one line exchanged."""
    lines = GOOD.splitlines()
    row = dict(zip(driven.HEADER.split(","), lines[number - 1].split(","), strict=True)) | cells
    return "\n".join([*lines[: number - 1], ",".join(row.values()), *lines[number:]]) + "\n"


@pytest.mark.parametrize(
    ("text", "row", "field", "given", "says"),
    [
        (GOOD.replace(",9.000", ",9.700"), 2, "lon, lat", "9.700", "another field"),
        (GOOD.replace("lon,lat", "lat,lon"), 2, "lon, lat", "51.00", "swapped"),
        (GOOD.replace("2025-04", "2023-04"), 2, "time", "2023-04-28", "season of the trial, harvested in 2025"),
        (GOOD.replace("2025-04", "2026-04"), 2, "time", "2026-04-28", "season of the trial"),
        (GOOD.replace("km_per_h", "m_per_s"), 2, "speed", "3.6 times", "unit right"),
        (with_line(9, {"speed_km_per_h": "72"}), 9, "speed_km_per_h", "72", "cannot be"),
        (with_line(9, {"speed_km_per_h": "-7"}), 9, "speed_km_per_h", "-7", "cannot be"),
        (with_line(9, {"speed_km_per_h": "nan"}), 9, "speed_km_per_h", "nan", ""),
        (with_line(9, {"rows_off": "5"}), 9, "rows_off", "5", "cannot be"),
        (with_line(9, {"time": "2025-04-28T08:00:00"}), 9, "time", "08:00:00", "runs back"),
        (with_line(9, {"lat": "151.0"}), 9, "lat", "151.0", "cannot be"),
        (GOOD.replace("time,lon", "when,lon"), 1, "time", "when, lon", "no column for the time"),
        (GOOD.replace("lat,speed_km_per_h", "lat,pace"), 1, "speed", "pace", "no column for the speed"),
        (GOOD.replace("speed_km_per_h", "speed"), 1, "speed", "speed", "unit of this column"),
    ],
)  # fmt: skip
def test_a_log_that_is_not_of_this_trial(trial, text, row, field, given, says):
    found = faults(trial, "--log", write(trial, text), "--method", "A", "--store")
    (one,) = [p for p in found if p.field == field and says in p.message]
    assert (one.file, one.row) == ("planter.csv", row)
    assert given in one.given
    assert one.allowed
    assert events_text(trial) == ""


def test_one_fault_in_every_line_is_counted_not_listed(trial):
    lines = GOOD.splitlines()
    path = write(trial, "\n".join([lines[0], *(",".join([*x.split(",")[:3], "99", "0"]) for x in lines[1:])]))
    found = faults(trial, "--log", path, "--method", "A")
    assert len(found) == 10
    assert f"{len(lines) - 1} lines are like this; the first 10 are listed" in found[0].message


def test_a_crop_seen_before_it_was_sown(trial):
    trial.append_records([small.count(1, 90)])
    path = write(trial, driven.table(*driven.strip_passes(1), start=small.DAY + timedelta(days=30)))
    (fault,) = faults(trial, "--log", path, "--method", "A", "--store")
    assert (fault.field, fault.given, fault.allowed) == ("time", "2025-05-28", "2025-04-28 or earlier")
    assert "strip 1." in fault.message
    assert events_text(trial) == ""


def test_a_log_without_dates_is_looked_at_but_not_kept(trial):
    path = write(trial, driven.table(*driven.strip_passes(1), clock=False))
    assert "no dates" in say(trial, "--log", path, "--method", "A").stderr
    (fault,) = faults(trial, "--log", path, "--method", "A", "--store")
    assert (fault.field, fault.allowed) == ("time", "dates with clock time")


@pytest.mark.parametrize(
    ("words", "fields"),
    [
        (["--store"], ["--log"]),
        (["--method", "A"], ["--log"]),
        (["--log", "x.csv"], ["--method"]),
        (["--log", "x.csv", "--method", "Z", "--machine", "none"], ["--method", "--machine"]),
    ],
)
def test_options_that_do_not_go_together(trial, words, fields):
    found = faults(trial, *words)
    assert [p.field for p in found] == fields
    assert all(p.allowed for p in found)


def test_another_machine_than_planned_is_said(trial):
    path = write(trial, GOOD)
    got = say(trial, "--log", path, "--method", "A", "--machine", "pairs")
    assert "A was to be sown by four; this log is of pairs" in got.stderr


def test_a_log_that_never_lifts_is_said(trial):
    path = write(trial, GOOD.replace(",rows_off", ",other"))
    assert "driving over a strip counts as sowing it" in say(trial, "--log", path, "--method", "A").stderr
    assert "driving over" not in say(trial, "--log", write(trial, GOOD), "--method", "A").stderr


def test_a_hand_written_file_without_the_columns_is_left_alone(trial):
    path = trial.path / "records/events.csv"
    path.write_text("id,time,strips,event,method\nE1,2025-04-28T09:00,2,sown,B\n")
    before = path.read_bytes()
    found = faults(trial, "--log", write(trial, GOOD), "--method", "A", "--store")
    driven_by_log = {"rows_off_m", "lifted_m", "overlap_m2", "sown_fraction"}
    assert {p.field for p in found} == {"who", "note", "stops", "rows_off", "speed_km_per_h", *driven_by_log}
    assert all("add its name to the header line" in p.message and p.row == 1 for p in found)
    assert path.read_bytes() == before


def test_older_files_of_events_read_as_before(trial):
    path = trial.path / "records/events.csv"
    path.write_text("id,time,strips,event,method\nE1,2025-04-28T09:00,2,sown,A\nE2,2025-09-09,2,harvested,\n")
    assert as_json(trial)["strips"][1]["sown"] == "A"


@pytest.mark.parametrize(
    ("column", "cell", "allowed"),
    [
        ("stops", "-1", "0 to 200"),
        ("stops", "many", "a number"),
        ("rows_off", "60", "0 to 48"),
        ("speed_km_per_h", "72", "above 0, at most 40"),
        ("speed_mi_per_h", "45", "above 0, at most 40 (as speed_km_per_h)"),
    ],
)
def test_entries_that_cannot_be_name_file_row_field_given_allowed(trial, column, cell, allowed):
    text = f"id,time,strips,event,{column}\nE1,2025-04-28T09:00,1,sown,1\nE2,2025-04-28T09:10,2,sown,{cell}\n"
    (trial.path / "records/events.csv").write_text(text)
    (one,) = faults(trial)
    assert (one.file, one.row, one.field, one.given) == ("records/events.csv", 3, column, cell)
    assert allowed in one.allowed


def test_a_log_in_utc_is_said_and_kept_beside_local_entries(trial):
    trial.append_records([small.event(1, "sown", method="A", seed_lot="L1")])
    text = driven.table(*driven.strip_passes(1)).replace(",9.", "Z,9.")
    got = say(trial, "--log", write(trial, text), "--method", "A", "--store")
    assert "clock is UTC" in got.stderr
    assert as_json(trial)["strips"][0]["entries"] == 2


def test_a_log_older_than_the_draw_is_wondered_at(trial):
    path = write(trial, driven.table(*driven.strip_passes(1), start=small.DAY - timedelta(days=90)))
    assert "were drawn later, on 2025-03-01" in say(trial, "--log", path, "--method", "A").stderr


def test_the_help_is_the_first_line_of_the_module():
    got = runner.invoke(build(["sown", "--help"]), ["sown", "--help"])
    assert "how every strip was really sown" in " ".join(got.stdout.split())
    assert sown.__doc__


def test_a_time_log_counts_like_a_table_and_keeps_its_numbers(trial):
    left = driven.rows_closed(driven.drive(7.5), first_m=100, last_m=150)
    right = driven.rows_closed(driven.drive(10.0), first_m=200, last_m=230, rows=4.0)  # half a metre too near
    path = time_logs.write(trial.path.parent / "TASKDATA", *time_logs.logged(left, right, seeds=8.4))
    seen = as_json(trial, "--log", path, "--method", "A")["strips"][0]
    # readings every 2 m: each end of a stretch is known to a reading
    assert seen["rows_off_m"] == pytest.approx(50.0, abs=2.5)
    assert seen["lifted_m"] == pytest.approx(30.0, abs=2.5)
    assert seen["seeds_per_m2"] == pytest.approx(8.4)
    got = as_json(trial, "--log", path, "--method", "A", "--store")
    assert got["stored"] == 1
    kept = as_json(trial)["strips"][0]
    for name in ("rows_off_m", "lifted_m", "overlap_m2", "sown_fraction", "seeds_per_m2"):
        assert kept[name] == pytest.approx(seen[name], abs=0.06)
    assert "8.4" in say(trial).stdout
    assert as_json(trial, "--log", path.parent, "--method", "A", "--store")["stored"] == 0


def test_a_cut_off_time_log_says_so(trial):
    head, body = time_logs.logged(*driven.strip_passes(1))
    path = time_logs.write(trial.path.parent / "TASKDATA", head, body[:-3])
    assert "TLG00001.BIN is cut off" in say(trial, "--log", path, "--method", "A").stderr


def test_joints_measured_after_sowing_set_the_area_and_are_shown(trial):
    at = {"time": small.DAY, "who": "me"}
    trial.append_records(
        [
            MeasuredJoint(id="J1", strips=(1,), joint_m=0.79, **at),
            MeasuredJoint(id="J2", strips=(1,), joint_m=0.81, **at),
            MeasuredJoint(id="J3", strips=(1, 2), joint_m=0.70, **at),
        ]
    )
    got = as_json(trial)
    joints = got["strips"][0]["joints"]
    assert (joints["measured"], joints["mean_m"]) == (1, pytest.approx(0.80))
    cut = small.draw().strip(1).cut_width_m
    assert joints["area_factor"] is None  # which rows were cut, the harvest knows: here the joint lies among them
    weighed = next(s for s in harvest(trial.load().plan, small.draw(), trial.load().records).strips if s.strip == 1)
    assert weighed.cut_area_m2 == pytest.approx(small.draw().strip(1).cut_area_m2 * (cut + 0.05) / cut)
    assert any("1 joint measured, mean 80 cm where 75 cm was ordered; the weighed area" in s for s in got["sentences"])
    assert any("joint between strips 1 and 2: 70 cm where 75 cm was ordered" in s for s in got["sentences"])


def test_a_block_whose_methods_come_from_different_lots_is_named(trial):
    block = [s for s in small.draw().strips if s.block == 1]
    lots = {s.method: f"lot {s.method}" for s in block}
    trial.append_records([small.event(s.strip, "sown", method=s.method, seed_lot=lots[s.method]) for s in block])
    assert any("block 1 compares seed lots as well as methods" in s for s in as_json(trial)["sentences"])
