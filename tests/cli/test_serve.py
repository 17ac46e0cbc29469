"""`evenground serve` as a farmer starts it: a process of its own, reached over its port."""

from __future__ import annotations

import contextlib
import os
import re
import signal
import socket
import sqlite3
import ssl
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

WAIT_S = 90


@dataclass
class Running:
    """A server under way: its process, its words so far, its address."""

    process: subprocess.Popen[str]
    words: list[str]
    address: str

    @property
    def port(self) -> int:
        return int(self.address.rstrip("/").rsplit(":", 1)[1])

    def get(self, path: str = "", **more) -> tuple[int, str]:
        request = urllib.request.Request(self.address + path, headers=more.pop("headers", {}))
        try:
            with urllib.request.urlopen(request, timeout=20, **more) as answer:
                return answer.status, answer.read().decode()
        except urllib.error.HTTPError as error:
            with error:
                return error.code, error.read().decode()


@contextlib.contextmanager
def serving(data: Path, *words: str) -> Iterator[Running]:
    env = {k: v for k, v in os.environ.items() if k not in ("DATABASE_URL", "DJANGO_SETTINGS_MODULE")}
    command = [
        sys.executable,
        "-c",
        "from evenground.cli.app import main; main()",
        "serve",
        "--data",
        str(data),
        *words,
    ]
    process = subprocess.Popen(command, env=env, stderr=subprocess.PIPE, stdout=subprocess.DEVNULL, text=True)
    said: list[str] = []
    try:
        end = time.monotonic() + WAIT_S
        assert process.stderr is not None
        for line in process.stderr:
            said.append(line.strip())
            if line.startswith("Open ") or time.monotonic() > end:
                break
        found = re.match(r"Open (\S+) ", said[-1] if said else "")
        assert found is not None, said
        yield Running(process, said, found.group(1))
    finally:
        process.send_signal(signal.SIGTERM)
        process.communicate(timeout=30)


def own_address() -> str | None:
    """An address of this machine that is not loopback, or None."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # looks the way up; nothing is sent
        except OSError:
            return None
        name = str(probe.getsockname()[0])
        return None if name.startswith("127.") else name


def test_it_opens_with_the_demo_trial_on_this_machine_only_and_ends_in_order(tmp_path):
    with serving(tmp_path, "--port", "0") as app:
        assert app.address.startswith("http://127.0.0.1:")
        status, page = app.get()
        assert status == 200
        assert "invented" in page
        assert app.get(headers={"Host": "evil.example"})[0] == 400
        for style in re.findall(r'href="(/static/[^"]+\.css)"', page):
            assert re.search(r"\.[0-9a-f]{12}\.css$", style), "static files carry a hash"
            assert app.get(style[1:])[0] == 200
        if (other := own_address()) is not None:
            with pytest.raises(OSError, match="refused"), socket.create_connection((other, app.port), timeout=3):
                pass
    assert app.process.returncode == 0
    assert oct((tmp_path / "secret-key").stat().st_mode & 0o777) == "0o600"
    with contextlib.closing(sqlite3.connect(tmp_path / "evenground.sqlite3")) as database:
        assert database.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        assert database.execute("SELECT count(*) FROM trials_trial").fetchone() == (1,)
    with serving(tmp_path, "--port", "0") as again:
        assert again.get()[0] == 200
    with contextlib.closing(sqlite3.connect(tmp_path / "evenground.sqlite3")) as database:
        assert database.execute("SELECT count(*) FROM trials_trial").fetchone() == (1,), "the demo comes once"


def free_pair() -> int:
    """A port that is free together with the next one."""
    for _ in range(50):
        with socket.socket() as one, socket.socket() as two:
            one.bind(("127.0.0.1", 0))
            port = one.getsockname()[1]
            with contextlib.suppress(OSError):
                two.bind(("127.0.0.1", port + 1))
                return port
    raise AssertionError("no two free ports side by side")


@pytest.fixture
def loopback_network(monkeypatch):
    """Let --network listen on loopback in tests; which address it takes otherwise is tested by its words."""
    monkeypatch.setenv("EVENGROUND_LISTEN", "127.0.0.1")


def test_on_the_farm_network_it_speaks_https_with_the_farms_own_authority(tmp_path, loopback_network):
    port = free_pair()
    with serving(tmp_path, "--port", str(port), "--network", "--name", "localhost") as app:
        assert app.address == f"https://localhost:{port}/"
        trust = ssl.create_default_context(cafile=tmp_path / "authority" / "authority.pem")
        status, page = app.get("people/login/", context=trust)
        assert status == 200
        assert "Sign in" in page
        with pytest.raises(urllib.error.URLError, match="certificate verify failed"):
            app.get("people/login/", context=ssl.create_default_context())
        status, page = app.get(context=trust)
        assert "demo" not in page.lower(), "nobody sees a trial without signing in"
        link = next(w for w in app.words if "/people/join/" in w).rsplit(" ", 1)[1]
        assert app.get(link.removeprefix(app.address), context=trust)[0] == 200
        doorstep = f"http://localhost:{port + 1}/"
        with urllib.request.urlopen(doorstep, timeout=10) as answer:
            text = answer.read().decode()
        fingerprint = next(w for w in app.words if "check:" in w).rsplit(" ", 1)[1]
        assert fingerprint in text
        with urllib.request.urlopen(doorstep + "farm.crt", timeout=10) as answer:
            assert answer.headers["Content-Type"] == "application/x-x509-ca-cert"
        for path in ("people/login/", "..%2fauthority-key.pem", "authority-key.pem"):
            with pytest.raises(urllib.error.HTTPError, match="404") as caught:
                urllib.request.urlopen(doorstep + path, timeout=10)
            caught.value.close()


def test_a_port_that_is_taken_is_said(tmp_path):
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        command = [
            sys.executable,
            "-c",
            "from evenground.cli.app import main; main()",
            "serve",
            "--data",
            str(tmp_path),
        ]
        done = subprocess.run(
            [*command, "--port", str(port)], capture_output=True, text=True, timeout=WAIT_S, check=False
        )
    assert done.returncode == 2
    assert "this port cannot be used" in done.stderr
    assert str(port) in done.stderr
