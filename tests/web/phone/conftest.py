"""What the browser tests of the phone page share: a real server, a line that can be cut, phones, the database."""

from __future__ import annotations

import json
import os
import sqlite3
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

import pytest

from tests.web.phone.proxy import Line

ROOT = Path(__file__).resolve().parents[3]
PHONE = {"viewport": {"width": 390, "height": 844}, "device_scale_factor": 2, "is_mobile": True, "has_touch": True}
START_S = 90


@dataclass
class Farm:
    """The server and its database."""

    data: Path
    port: int

    @property
    def address(self) -> str:
        return f"http://localhost:{self.port}"

    def rows(self, question: str, *values) -> list[tuple]:
        base = sqlite3.connect(f"file:{self.data / 'evenground.sqlite3'}?mode=ro", uri=True, timeout=20)
        try:
            return base.execute(question, values).fetchall()
        finally:
            base.close()

    def change(self, statement: str, *values) -> None:
        base = sqlite3.connect(self.data / "evenground.sqlite3", timeout=20)
        try:
            with base:
                base.execute(statement, values)
        finally:
            base.close()

    def stored(self, kind: str, device: str | None = None) -> list[dict]:
        """Records that came from phones, not those of the demo."""
        where = "device = ?" if device else "device != '' AND ? IS NULL"
        return [
            json.loads(text)
            for (text,) in self.rows(f"SELECT text FROM trials_storedrecord WHERE kind = ? AND {where}", kind, device)
        ]

    def held(self) -> list[tuple]:
        return self.rows("SELECT kind, text, problems FROM trials_heldentry")

    def strips(self) -> list[dict]:
        (text,) = self.rows("SELECT text FROM trials_drawversion ORDER BY number DESC LIMIT 1")[0]
        found = [f for f in json.loads(text)["features"] if f["properties"]["role"] == "strip"]
        return sorted(found, key=lambda f: f["properties"]["strip"])


@pytest.fixture(scope="session")
def farm(tmp_path_factory):
    """The app served as `evenground serve` serves it, with the demo trial, in a data folder of its own."""
    data = tmp_path_factory.mktemp("phone-farm")
    environment = {**os.environ, "EVENGROUND_DATA": str(data), "OPENBLAS_NUM_THREADS": "1"}
    environment.pop("DATABASE_URL", None)
    environment["DJANGO_SETTINGS_MODULE"] = "evenground.web.config.settings"
    log = (data / "log").open("wb")
    process = subprocess.Popen(
        [sys.executable, "-m", "tests.web.phone.server", "0"], cwd=ROOT, env=environment, stdout=log, stderr=log
    )
    address, end = data / "address", time.monotonic() + START_S
    while not address.is_file() and process.poll() is None and time.monotonic() < end:
        time.sleep(0.2)
    if not address.is_file():
        process.kill()
        pytest.fail((data / "log").read_text())
    yield Farm(data, int(address.read_text().rsplit(":", 1)[1]))
    process.terminate()
    process.wait(15)
    log.close()


@pytest.fixture
def line(farm):
    """A line to the server that can be cut."""
    made = Line(farm.port)
    yield made
    made.close()


@pytest.fixture
def phones(chrome):
    """Make phones: each a browser of its own, in the middle of strip `at` if given."""
    made = []

    def make(**options):
        context = chrome.new_context(**{**PHONE, "permissions": ["geolocation"], "locale": "en-GB", **options})
        context.set_default_timeout(40_000)  # a busy machine is no fault of the page
        made.append(context)
        return context

    yield make
    for context in made:
        context.close()


@pytest.fixture(autouse=True)
def _everything_as_it_was(request):
    """Every test finds the person at this machine signed in and the page in its own version."""
    if "farm" not in request.fixturenames:
        yield
        return
    farm = request.getfixturevalue("farm")
    yield
    farm.change("UPDATE accounts_user SET local = 1")
    for name in ("salt", "slow"):
        (farm.data / name).unlink(missing_ok=True)
