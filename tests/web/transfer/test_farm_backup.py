"""A whole farm as one file: all comes back, nothing is overwritten, and what was changed on the way is noticed."""

from __future__ import annotations

import hashlib
import io
import json
import zipfile

import pytest
from django.utils import timezone

from evenground.basis.errors import InputError
from evenground.web.accounts.models import Role, User
from evenground.web.accounts.services import give_role, make_farm
from evenground.web.phone.services import take_entries
from evenground.web.transfer.backups import HASHES, HEAD, back_up
from evenground.web.transfer.restoring import restore
from evenground.web.transfer.rows import TABLES, said_of
from evenground.web.trials.models import Farm, StoredRecord, Trial, TrialFile
from evenground.web.trials.services import next_year, put_away
from evenground.web.trials.store import DatabaseStore


def of_everything(farm: Farm) -> dict:
    """Everything of a farm that a backup must bring back, however it is numbered in the database."""
    out = {}
    for trial in farm.trials.order_by("made_at"):
        tables = {t.name: [said_of(r, t) for r in getattr(trial, t.name).order_by("pk")] for t in TABLES}
        files = {f.path: bytes(f.content) for f in trial.files.all()}
        grown = trial.grown_from.name if trial.grown_from else None
        out[trial.name, trial.season] = (trial.door, trial.made_at, trial.put_away_at, grown, tables, files)
    return out


@pytest.fixture
def full_farm(demo_trial, owner, farm) -> Farm:
    """Two trials, a plan changed twice, an entry held, one settled, a photograph, one trial put away."""
    store = DatabaseStore(demo_trial, owner)
    store.change_plan({"layout.guard_rows": 3})
    TrialFile.objects.create(trial=demo_trial, path="photos/p.jpg", content=bytes(range(256)))
    bad = [{"kind": "depths", "id": n, "fields": {"depth_cm": -1, "note": "tief ü \x00"}} for n in ("x", "y")]
    take_entries(trial=demo_trial, entries=bad, by=owner, device="phone-1", may_enter=lambda _k, _f: True)
    demo_trial.held.filter(record_id="y").update(settled_at=timezone.now())
    new = next_year(trial=demo_trial, by=owner)
    put_away(trial=new)
    give_role(user=User.objects.create_user("helper"), role=Role.HELPER, trial=new)
    return farm


def backup_bytes(farm) -> bytes:
    return b"".join(back_up(farm))


def test_into_an_empty_database_everything_comes_back(full_farm, owner):
    wanted, file = of_everything(full_farm), io.BytesIO(backup_bytes(full_farm))
    slugs = set(full_farm.trials.values_list("slug", flat=True))
    stored = {t.slug: DatabaseStore(t).load() for t in full_farm.trials.all()}
    full_farm.trials.update(grown_from=None)
    full_farm.trials.all().delete()
    full_farm.delete()
    again = restore(file=file, by=owner)
    assert of_everything(again) == wanted
    assert again.name == "Demo farm"
    assert set(again.trials.values_list("slug", flat=True)) == slugs
    assert {t.slug: DatabaseStore(t).load() for t in again.trials.all()} == stored


def test_beside_what_is_there_nothing_is_overwritten(full_farm, owner):
    wanted = of_everything(full_farm)
    again = restore(file=io.BytesIO(backup_bytes(full_farm)), by=owner)
    assert of_everything(full_farm) == wanted == of_everything(again)
    assert "restored" in again.name
    assert not set(full_farm.trials.values_list("slug")) & set(again.trials.values_list("slug"))
    assert again.trials.get(season=2027).grown_from == again.trials.get(season=2026)
    third = restore(file=io.BytesIO(backup_bytes(full_farm)), by=owner)
    assert third.trials.count() == 2


def test_passwords_and_links_are_not_in_it(full_farm, owner):
    data = backup_bytes(full_farm)
    with zipfile.ZipFile(io.BytesIO(data)) as z:
        every = b"".join(z.read(n) for n in z.namelist())
    assert owner.password.encode() not in every
    assert {
        p["name"] for t in json.loads(zipfile.ZipFile(io.BytesIO(data)).read(HEAD))["trials"] for p in t["people"]
    } == {"helper"}


def changed(data: bytes, change, *, hashes_too: bool = False) -> io.BytesIO:
    """A backup with something changed in it; with ``hashes_too`` by somebody who knows how it is made."""
    with zipfile.ZipFile(io.BytesIO(data)) as z:
        files = {n: z.read(n) for n in z.namelist()}
    change(files)
    if hashes_too:
        lines = [f"{hashlib.sha256(c).hexdigest()}  {n}" for n, c in files.items() if n != HASHES]
        files[HASHES] = ("\n".join(lines) + "\n").encode()
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as z:
        for name, content in files.items():
            z.writestr(name, content)
    out.seek(0)
    return out


def of_trial(files, table):
    return next(n for n in files if n.endswith(f"/{table}") and files[n])


def one_sign(files):
    name = of_trial(files, "records.jsonl")
    files[name] = files[name].replace(b"demo-load-01", b"demo-load-0l", 1)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (one_sign, "changed or damaged"),
        (lambda f: f.pop(of_trial(f, "plans.jsonl")), "missing"),
        (lambda f: f.update({"more.txt": b"x"}), "does not belong"),
        (lambda f: f.pop(HASHES), "list of contents"),
        (lambda f: f.update({HEAD: f[HEAD].replace(b"Demo farm", b"My farm")}), "changed or damaged"),
    ],
)
def test_what_was_changed_on_the_way_is_noticed(full_farm, owner, change, says):
    before = (Farm.objects.count(), Trial.objects.count(), StoredRecord.objects.count())
    with pytest.raises(InputError, match=says):
        restore(file=changed(backup_bytes(full_farm), change), by=owner)
    assert (Farm.objects.count(), Trial.objects.count(), StoredRecord.objects.count()) == before


def in_rows(table, old, new):
    def change(files):
        name = of_trial(files, table)
        assert old in files[name]
        files[name] = files[name].replace(old, new, 1)

    return change


@pytest.mark.parametrize(
    "change",
    [
        in_rows("records.jsonl", b'"kind":"loads"', b'"kind":"tea"'),
        in_rows("records.jsonl", b"demo-load-01", b"demo-load-xx"),
        in_rows("records.jsonl", b"{", b"["),
        in_rows("records.jsonl", b'"received_at":"2', b'"received_at":"x2'),
        in_rows("records.jsonl", b'"device":""', b'"device":"%s"' % (b"x" * 81)),
        in_rows("records.jsonl", b'"device":""', b'"device":"\\u0000"'),
        in_rows("records.jsonl", b'"device":""', b'"device":7'),
        in_rows("plans.jsonl", b"letter", b"lettter"),
        in_rows("plans.jsonl", b'"number":1', b'"number":-1'),
        in_rows("draws.jsonl", b"seed", b"sead"),
        in_rows("fields.jsonl", b"Polygon", b"Point"),
        in_rows("held.jsonl", b'"problems":[', b'"problems":"'),
        lambda f: f.update({of_trial(f, "files/photos/p.jpg").replace("photos/p.jpg", "trial.toml"): b"x"}),
        lambda f: f.update({of_trial(f, "files/photos/p.jpg") + "/x": b"x"}),
        lambda f: f.update({of_trial(f, "files/photos/p.jpg") + "x" * 200: b"x"}),
        lambda f: f.update({HEAD: b"{}"}),
        lambda f: f.update({HEAD: b"\xff"}),
        lambda f: f.update({HEAD: f[HEAD].replace(b'"form":1', b'"form":99')}),
        lambda f: f.update({HEAD: f[HEAD].replace(b'"door":"planned"', b'"door":"trap"')}),
        lambda f: f.update({HEAD: f[HEAD].replace(b'"season":2026', b'"season":"x"')}),
    ],
)
def test_a_forged_backup_is_read_with_the_same_suspicion(full_farm, owner, change):
    before = (Farm.objects.count(), Trial.objects.count(), StoredRecord.objects.count())
    with pytest.raises(InputError):
        restore(file=changed(backup_bytes(full_farm), change, hashes_too=True), by=owner)
    assert (Farm.objects.count(), Trial.objects.count(), StoredRecord.objects.count()) == before


def test_progress_is_told(full_farm, owner):
    told = []
    restore(file=io.BytesIO(backup_bytes(full_farm)), by=owner, progress=lambda done, of: told.append((done, of)))
    steps = [done for done, _of in told]
    assert steps == sorted(steps)
    assert len({of for _done, of in told}) == 1
    assert told[-1][0] == pytest.approx(told[-1][1], rel=0.2)  # head and hashes are checked, not stored


def test_an_empty_farm_goes_too(owner):
    farm = make_farm(name="Bare", owner=owner)
    data = backup_bytes(farm)
    farm.memberships.all().delete()
    farm.delete()
    assert restore(file=io.BytesIO(data), by=owner).name == "Bare"
