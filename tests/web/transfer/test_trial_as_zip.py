"""A trial folder in and out as zip: byte for byte, and nothing stored of an archive with any fault."""

from __future__ import annotations

import io
import json
import stat
import zipfile
from datetime import date

import pytest

from evenground.adapters.trial_folder import TrialFolder
from evenground.adapters.zip_file import ZipLimits, read_zip, write_zip
from evenground.basis.errors import InputError
from evenground.basis.observations import RECORD_KINDS
from evenground.decide.verdict import verdict
from evenground.decide.verdict_json import as_dict
from evenground.web.phone.services import take_entries
from evenground.web.transfer.zips import take_zip, trial_as_zip
from evenground.web.trials.folder_files import HELD_FILE
from evenground.web.trials.models import PlanVersion, StoredRecord, Trial, TrialFile
from evenground.web.trials.store import DatabaseStore


def packed(files: dict[str, bytes]) -> io.BytesIO:
    out = io.BytesIO()
    write_zip(files.items(), out)
    out.seek(0)
    return out


def unpacked(archive) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(b"".join(archive))) as z:
        return {n.partition("/")[2]: z.read(n) for n in z.namelist()}


def out_and_in(trial, farm, **how) -> Trial:
    """A trial as it comes back from its own zip."""
    return take_zip(farm=farm, file=io.BytesIO(b"".join(trial_as_zip(trial, **how))), by=None)


@pytest.fixture(scope="module")
def hand_kept(demo_folder) -> dict[str, bytes]:
    """The demo trial as somebody keeps it by hand: own notes, columns, number style, line ends, files."""
    files = {p.relative_to(demo_folder).as_posix(): p.read_bytes() for p in demo_folder.rglob("*") if p.is_file()}
    files["trial.toml"] = (
        b"# our own words \xc3\xa4\r\n" + files["trial.toml"].replace(b"\n", b"\r\n") + b"\r\nours = 1  # kept"
    )
    head, *rows = files["records/weighings.csv"].decode().splitlines()
    assert "," in head
    assert ";" not in "".join([head, *rows])
    lines = [f"moon;{head.replace(',', ';')}", *(f"full;{row.replace(',', ';')}" for row in rows)]
    files["records/weighings.csv"] = ("\ufeff" + "\r\n".join(lines)).encode()
    files["records/loads.csv"] = files["records/loads.csv"] + b"\n\n"
    files["records/depths.csv"] = files.get("records/depths.csv", b"") or b"id,time,strips,depth_cm\n"
    files["records/moon.csv"] = b"phase\nfull\n"
    files["notes/2025 talk.txt"] = "Gespräch\r\n".encode("cp1252")
    files["photos/gate.jpg"] = bytes(range(256)) * 40
    files["versions/trial-001.toml"] = b"# the first plan\n"
    return files


@pytest.fixture
def taken(farm, owner, hand_kept) -> Trial:
    return take_zip(farm=farm, file=packed({f"My trial/{n}": c for n, c in hand_kept.items()}), by=owner)


def test_what_came_goes_out_byte_for_byte(taken, hand_kept):
    assert unpacked(trial_as_zip(taken)) == hand_kept


def test_it_says_in_the_database_what_it_says_as_a_folder(taken, hand_kept, tmp_path):
    for name, content in hand_kept.items():
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_bytes(content)
    assert DatabaseStore(taken).load() == TrialFolder(tmp_path).load()
    with DatabaseStore(taken).as_folder() as folder:
        assert TrialFolder(folder).load() == TrialFolder(tmp_path).load()
        assert not (folder / "photos").exists()
        assert (folder / "notes/2025 talk.txt").exists()


def test_records_added_since_are_lines_added_and_nothing_else(taken, hand_kept, owner):
    store = DatabaseStore(taken, owner)
    first = store.load().records.weighings[0]
    store.append_records([first.model_copy(update={"id": "new", "replaces": first.id, "note": "Höhe; again"})])
    out = unpacked(trial_as_zip(taken))
    changed = {n for n in out if out[n] != hand_kept.get(n)}
    assert changed == {"records/weighings.csv"}
    assert out["records/weighings.csv"].startswith(hand_kept["records/weighings.csv"])
    added = out["records/weighings.csv"][len(hand_kept["records/weighings.csv"]) :].decode()
    assert added.startswith("\r\n;new;")  # in the file's own columns, delimiter and line ends
    assert out_and_in(taken, taken.farm).records.count() == taken.records.count()


def test_a_record_that_needs_a_new_column_widens_the_file_and_keeps_its_lines(taken, hand_kept, owner, farm):
    files = {
        **hand_kept,
        "records/stubble.csv": b"id;time;strips;height_cm;ours\r\ns1;%d-09-20T10:00;1;12,5;x\r\n" % taken.season,
    }
    trial = take_zip(farm=farm, file=packed(files), by=owner)
    store = DatabaseStore(trial, owner)
    one = store.load().records.stubble[-1]
    store.append_records([one.model_copy(update={"id": "s2", "stubs": 7})])
    out = unpacked(trial_as_zip(trial))["records/stubble.csv"].decode().split("\r\n")
    assert out[0] == "id;time;strips;height_cm;ours;stubs"
    assert out[1].endswith("1;12,5;x;")
    assert out[2].endswith(";7")
    assert [s.stubs for s in DatabaseStore(out_and_in(trial, farm)).records().stubble] == [1, 7]


def test_earlier_plans_go_out_numbered_on(taken, hand_kept, owner):
    store = DatabaseStore(taken, owner)
    store.change_plan({"layout.guard_rows": 3})
    out = unpacked(trial_as_zip(taken))
    assert out["versions/trial-001.toml"] == hand_kept["versions/trial-001.toml"]
    assert out["versions/trial-002.toml"] == hand_kept["trial.toml"]
    assert b"guard_rows = 3" in out["trial.toml"]
    assert b"# our own words" in out["trial.toml"]


def test_entries_that_wait_travel_too(taken, owner, farm):
    bad = {"kind": "stand_counts", "id": "x", "fields": {"plants": -1}}
    take_entries(trial=taken, entries=[bad], by=owner, device="phone-1", may_enter=lambda _k, _f: True)
    again = out_and_in(taken, farm)
    before, after = taken.held.get(), again.held.get()
    for name in ("kind", "record_id", "text", "content_hash", "device", "received_at", "problems"):
        assert getattr(after, name) == getattr(before, name)
    assert unpacked(trial_as_zip(again)) == unpacked(trial_as_zip(taken))


ODD_ID = {"kind": "x", "id": "\0", "device": "", "received_at": "2026-01-01T00:00:00Z", "fields": 1, "problems": []}
NO_ZONE = {**ODD_ID, "id": "x", "received_at": "2026-01-01T00:00:00"}


@pytest.mark.parametrize(
    "text", [b"{", b"[3]", b'[{"kind": "x"}]', *(json.dumps([o]).encode() for o in (ODD_ID, NO_ZONE))]
)
def test_waiting_entries_that_cannot_be_read_are_told(farm, hand_kept, text):
    with pytest.raises(InputError, match="waiting entries"):
        take_zip(farm=farm, file=packed({**hand_kept, HELD_FILE: text}), by=None)
    assert Trial.objects.count() == 0


def test_a_trial_made_in_the_app_goes_out_and_comes_back(demo_trial, farm):
    again = out_and_in(demo_trial, farm)
    assert DatabaseStore(again).load() == DatabaseStore(demo_trial).load()
    assert unpacked(trial_as_zip(again)) == unpacked(trial_as_zip(demo_trial))


def nothing_stored():
    return (Trial.objects.count(), PlanVersion.objects.count(), StoredRecord.objects.count(), TrialFile.objects.count())


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"trial.toml": b"a ="}, "TOML"),
        ({"trial.toml": None}, "no trial.toml"),
        ({"field.geojson": b"{"}, "field.geojson"),
        ({"strips.geojson": b'{"type": "FeatureCollection"}'}, "draws"),
        ({"records/loads.csv": b"id,time,strips,trailer\nx,never,1,red\n"}, "line 2"),
        ({"records/samples.csv": b"id,time,strips,dry_matter_percent\nx,2026-09-01,999,33\n"}, "no strip 999"),
        ({"../outside.txt": b"x"}, "leads out"),
        ({"/etc/outside": b"x"}, "leads out"),
        ({"a/../../x": b"x"}, "leads out"),
        ({"c:x": b"x"}, "leads out"),
        ({"a\\..\\b": b"x"}, "leads out"),
        ({"a" * 201: b"x"}, "too long"),
        ({"Trial.TOML": b"x"}, "twice"),
        ({"notes/2025 talk.txt/x": b"x"}, "file and a folder"),
        ({"versions": b"x"}, "file and a folder"),
        ({"held-entries.json/x": b"x"}, "file and a folder"),
        ({"records/stubble.csv/x": b"x"}, "file and a folder"),
    ],
)
def test_nothing_is_stored_of_a_folder_with_a_fault(farm, hand_kept, change, says):
    files = {n: c for n, c in {**hand_kept, **change}.items() if c is not None}
    with pytest.raises(InputError, match=says):
        take_zip(farm=farm, file=packed(files), by=None)
    assert nothing_stored() == (0, 0, 0, 0)


def test_all_problems_are_told_at_once(farm, hand_kept):
    files = {**hand_kept, "records/loads.csv": b"id,time,strips\nx,never,1\ny,2026-09-01,0\n", "field.geojson": b"{"}
    with pytest.raises(InputError) as told:
        take_zip(farm=farm, file=packed(files), by=None)
    places = {(p.file, p.row) for p in told.value.problems}
    assert {("records/loads.csv", 2), ("records/loads.csv", 3)} <= places
    assert any(file == "field.geojson" for file, _ in places)


@pytest.mark.parametrize(
    "data", [b"", b"PK", b"not a zip", b"PK\x05\x06" + bytes(18)], ids=["empty", "PK", "text", "no files"]
)
def test_what_is_no_archive_is_told(farm, data):
    with pytest.raises(InputError):
        take_zip(farm=farm, file=io.BytesIO(data), by=None)


def test_a_damaged_archive_is_told(farm, hand_kept):
    data = bytearray(packed(hand_kept).getvalue())
    middle = data.index(b"field.geojson") + 400
    data[middle : middle + 40] = bytes(40)
    with pytest.raises(InputError):
        take_zip(farm=farm, file=io.BytesIO(bytes(data)), by=None)
    assert nothing_stored() == (0, 0, 0, 0)


def test_links_are_refused():
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as z:
        link = zipfile.ZipInfo("trial.toml")
        link.create_system, link.external_attr = 3, (stat.S_IFLNK | 0o777) << 16
        z.writestr(link, "/etc/passwd")
    with pytest.raises(InputError, match="link"):
        read_zip(out)


def test_a_bomb_is_stopped_while_it_unpacks():
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as z:
        z.writestr("trial.toml", bytes(50_000_000))
    assert len(out.getvalue()) < 60_000
    with pytest.raises(InputError, match="fill a disk"):
        read_zip(out)


def test_sizes_are_counted_and_not_believed():
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_STORED) as z:
        z.writestr("a", b"x" * 5000)
        z.writestr("b", b"x" * 5000)
    for limits in (ZipLimits(whole_bytes=8000), ZipLimits(file_bytes=4000), ZipLimits(files=1)):
        with pytest.raises(InputError, match="too"):
            read_zip(io.BytesIO(out.getvalue()), limits)
    lying = out.getvalue().replace((5000).to_bytes(4, "little"), (10).to_bytes(4, "little"))
    with pytest.raises(InputError):
        read_zip(io.BytesIO(lying), ZipLimits(file_bytes=4000))


def test_ten_gigabytes_inside_are_told_by_the_head_alone():
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as z:
        z.writestr("trial.toml", b"x")
        z.filelist[0].file_size = 10_000_000_000
    with pytest.raises(InputError, match="too large"):
        read_zip(out)


def test_without_places_no_coordinate_goes_out(demo_trial, owner):
    store = DatabaseStore(demo_trial, owner)
    seen = store.load().records.samples[0]
    store.append_records([seen.model_copy(update={"id": "here", "replaces": seen.id, "lon": 9.87654, "lat": 51.23456})])
    TrialFile.objects.create(trial=demo_trial, path="photos/x.jpg", content=b"x")
    files = unpacked(trial_as_zip(demo_trial, without_places=True))
    assert set(files) <= {"trial.toml", "strips.geojson", *(f"records/{k}.csv" for k in RECORD_KINDS)}
    every = b"".join(files.values())
    assert b"9.87654" not in every
    assert b"51.23456" not in every
    stored = store.load()
    for number in stored.draw.strips[0].outline[0]:
        assert f"{number:.5f}".encode() not in every
    corners = [xy for f in json.loads(files["strips.geojson"])["features"] for xy in f["geometry"]["coordinates"][0]]
    assert (
        max(abs(c) for xy in corners for c in xy) < 0.02
    )  # in the sea, within two kilometres of longitude and latitude 0


def test_without_places_the_verdict_is_the_same(demo_trial, farm):
    bare = DatabaseStore(out_and_in(demo_trial, farm, without_places=True)).load()
    full = DatabaseStore(demo_trial).load()
    assert bare.records.weighings == full.records.weighings
    assert bare.draw.plan_hash == bare.plan_hash  # "changed after the draw" is not said of a plan that was not
    said, wanted = (as_dict(verdict(s, today=date(2026, 12, 1), version="x")) for s in (bare, full))
    # The season needs the place: sunshine by latitude. Everything else is numbers of strips and weights.
    for name in ("methods", "strips", "comparison"):
        assert said.get(name) == wanted.get(name)
    assert said["methods"]
