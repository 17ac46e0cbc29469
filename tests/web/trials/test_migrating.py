"""The database at every start: brought up to this version, backed up before, never taken back."""

from __future__ import annotations

import json
import os
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

from evenground.basis.errors import EvengroundError
from evenground.web.trials.migrating import copy_sqlite, prepare_database, steps_to_go

ROOT = Path(__file__).parents[3]
# One process does it all: a fresh start, three old databases of which two backups stay, and one from the future.
SCRIPT = """
import json, os, sqlite3
os.environ["DJANGO_SETTINGS_MODULE"] = "evenground.web.config.settings"
import django
django.setup()
from django.conf import settings
from django.core.management import call_command
from django.db import connection
from evenground.basis.errors import EvengroundError
from evenground.web.trials import migrating
from evenground.web.trials.migrating import prepare_database
from evenground.web.trials.models import Farm

out_kept, migrating.KEPT = migrating.KEPT, 2
said, out = [], {}
out["fresh"] = [str(prepare_database(settings.DATA, said.append)), list(said)]
Farm.objects.create(name="Kept")
out["again"] = str(prepare_database(settings.DATA, said.append))
backups = []
for n in range(3):
    call_command("migrate", "trials", "0001", verbosity=0)
    Farm.objects.create(name=f"Farm {n}")
    backups.append(prepare_database(settings.DATA, said.append))
out["backups"] = sorted(p.name for p in (settings.DATA / "backups").iterdir())
out["made"] = [p.name for p in backups]
out["said"], out["kept"] = len(said), out_kept
with sqlite3.connect(backups[-1]) as copy:
    out["in the last"] = [n for (n,) in copy.execute("select name from trials_farm order by id")]
    out["its steps"] = [n for (n,) in copy.execute("select name from django_migrations where app = 'trials'")]
out["now"] = [f.name for f in Farm.objects.order_by("pk")]
out["mode"] = oct(backups[-1].stat().st_mode & 0o777)
with connection.cursor() as c:
    c.execute("insert into django_migrations (app, name, applied) values ('trials', '9999_later', '2030-01-01')")
try:
    prepare_database(settings.DATA, said.append)
except EvengroundError as error:
    out["newer"] = str(error)
print(json.dumps(out))
"""


@pytest.fixture(scope="module")
def told(tmp_path_factory) -> dict:
    env = {**os.environ, "EVENGROUND_DATA": str(tmp_path_factory.mktemp("data") / "new")}
    env.pop("DATABASE_URL", None)
    done = subprocess.run(
        [sys.executable, "-c", SCRIPT], cwd=ROOT, env=env, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def test_a_fresh_database_is_made_without_a_backup_of_nothing(told):
    assert told["fresh"] == ["None", []]
    assert told["again"] == "None"


def test_before_each_change_the_database_is_backed_up_and_only_the_last_stay(told):
    assert told["said"] == 3
    assert told["backups"] == told["made"][-2:]
    assert told["mode"] == "0o600"
    assert told["kept"] == 10


def test_a_backup_is_the_database_as_it_was_and_nothing_is_lost(told):
    everything = ["Kept", *(f"Farm {n}" for n in range(3))]
    assert told["in the last"] == everything
    assert told["its steps"] == ["0001_initial"]
    assert told["now"] == everything


def test_a_database_of_a_newer_program_is_left_alone(told):
    assert "newer version" in told["newer"]
    assert "9999_later" in told["newer"]


def test_a_damaged_database_is_not_copied_as_if_it_were_sound(tmp_path):
    file = tmp_path / "x.sqlite3"
    with sqlite3.connect(file) as base:
        base.execute("create table t (a text)")
        base.executemany("insert into t values (?)", [("x" * 500,) for _ in range(200)])
    base.close()
    data = bytearray(file.read_bytes())
    data[4096:12288] = bytes(8192)
    file.write_bytes(bytes(data))
    with pytest.raises(EvengroundError, match=r"damaged|cannot be backed up"):
        copy_sqlite(file, tmp_path / "copy.sqlite3")
    assert [p.name for p in tmp_path.iterdir()] == ["x.sqlite3"]


def test_the_tests_themselves_run_on_this_version(db, tmp_path):
    assert steps_to_go() == []
    assert prepare_database(tmp_path / "data") is None


def test_no_change_of_a_table_is_without_its_migration(db):
    from django.core.management import call_command

    call_command("makemigrations", "--check", "--dry-run", verbosity=0)
