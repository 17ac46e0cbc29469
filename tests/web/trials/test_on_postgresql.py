"""The tests of store, end point, moving and people once more, on PostgreSQL."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.web.postgresql import binaries, running_postgresql

ROOT = Path(__file__).parents[3]
AGAIN = [
    "tests/web/trials/test_store_contract.py",
    "tests/web/trials/test_new_trials.py",
    "tests/web/phone_endpoint",
    "tests/web/transfer/test_trial_as_zip.py",
    "tests/web/transfer/test_farm_backup.py",
    "tests/web/accounts/test_people.py",
]


@pytest.mark.skipif(binaries() is None, reason="needs PostgreSQL")
def test_the_same_tests_pass_on_postgresql():
    with running_postgresql() as url:
        env = {**os.environ, "DATABASE_URL": url, "EVENGROUND_TESTS_ON": "postgresql"}
        env.pop("PYTEST_XDIST_WORKER", None)
        there = [path for path in AGAIN if (ROOT / path).exists()]
        assert there == AGAIN
        command = [sys.executable, "-m", "pytest", "-q", "-x", "-p", "no:xdist", *there]
        done = subprocess.run(command, cwd=ROOT, env=env, capture_output=True, text=True, timeout=600, check=False)
    assert done.returncode == 0, done.stdout[-4000:] + done.stderr[-2000:]
    assert "skipped" not in done.stdout.splitlines()[-1]
