"""Phones without a screen: each sends what it has, keeps what was not acknowledged, and sends that again."""

from __future__ import annotations

import contextlib
import http.client
import json
import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

ROOT = Path(__file__).parents[2]
ON_THE_FARM = ("stored", "already", "held")


@dataclass
class Nursery:
    """See `tests.web.nursery`."""

    process: subprocess.Popen
    slug: str

    def server(self) -> tuple[int, int]:
        """Let a server be born; returns its process id and port."""
        self.process.stdin.write("\n")
        self.process.stdin.flush()
        pid, port = self.process.stdout.readline().split()
        return int(pid), int(port)


@contextlib.contextmanager
def nursery(data: Path, database_url: str = "") -> Iterator[Nursery]:
    env = {**os.environ, "EVENGROUND_DATA": str(data), "OPENBLAS_NUM_THREADS": "1", "DATABASE_URL": database_url}
    command = [sys.executable, "-m", "tests.web.nursery"]
    log = (data / "server.log").open("w")
    process = subprocess.Popen(
        command, cwd=ROOT, env=env, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=log, text=True
    )
    try:
        slug = process.stdout.readline().strip()
        assert slug, (data / "server.log").read_text()[-3000:]
        yield Nursery(process, slug)
    finally:
        process.stdin.close()
        process.wait(timeout=30)
        process.stdout.close()
        log.close()


def kill(pid: int) -> None:
    """End a process as a power cut would: it gets no chance to finish anything."""
    with contextlib.suppress(ProcessLookupError):
        os.kill(pid, signal.SIGKILL)


@dataclass
class Phone:
    """One phone: what it has still to send, and what the farm has acknowledged."""

    name: str
    slug: str
    waiting: dict[str, dict] = field(default_factory=dict)
    acknowledged: set[str] = field(default_factory=set)
    told: list[str] = field(default_factory=list)
    statuses: list[int] = field(default_factory=list)
    headers: dict[str, str] = field(default_factory=dict)

    def see(self, number: int, first: int = 0) -> None:
        """Make entries: plants counted in some strip."""
        for i in range(first, first + number):
            fields = {
                "time": "2026-05-20T10:00",
                "strips": [1 + i % 12],
                "length_m": 5,
                "plants": 30 + i % 15,
                "who": self.name,
            }
            self.waiting[f"{self.name}-{i}"] = {"kind": "stand_counts", "id": f"{self.name}-{i}", "fields": fields}

    def send(self, port: int, batch: int = 20, most: int = 10_000) -> None:
        """Send what waits; stops where the server does not answer."""
        with contextlib.closing(http.client.HTTPConnection("127.0.0.1", port, timeout=60)) as line:
            if not self.headers:
                self.headers = self._greet(line)
            for _ in range(most):
                entries = list(self.waiting.values())[:batch]
                if not entries:
                    return
                body = json.dumps({"trial": self.slug, "device": self.name, "entries": entries})
                line.request("POST", "/phone/api/entries/", body, self.headers)
                answer = line.getresponse()
                said = answer.read()
                self.statuses.append(answer.status)
                if answer.status != http.HTTPStatus.OK:
                    return
                for result in json.loads(said)["results"]:
                    if result["state"] in ON_THE_FARM:
                        self.acknowledged.add(result["id"])
                        self.waiting.pop(result["id"], None)
                    self.told.append(result["state"])

    def _greet(self, line: http.client.HTTPConnection) -> dict[str, str]:
        """Ask the farm for the token with which entries are sent; it stays good when the server starts again."""
        line.request("GET", "/phone/here/")
        answer = line.getresponse()
        cookie = answer.headers.get("Set-Cookie", "").split(";")[0]
        token = json.loads(answer.read())["token"]
        return {"Content-Type": "application/json", "X-CSRFToken": token, "Cookie": cookie}
