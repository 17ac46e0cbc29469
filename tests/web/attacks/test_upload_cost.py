"""What hostile files cost the machine, sent to the app behind its real server: seconds and megabytes at the most."""

from __future__ import annotations

import http.client
import os
import re
import subprocess
import sys
import time
import uuid
from pathlib import Path

import pytest

from . import hostile

MOST_S = 20.0
"""Measured 0.1 to 5 s on an idle machine of 2 cores; 12 s with both cores busy with other tests, hence the room."""
MOST_MB = 500.0
ROOT = Path(__file__).parents[3]
WORK = "/backup/work/"


class Served:
    """The app in a process of its own, whose memory can be looked at."""

    def __init__(self, data: Path, process: subprocess.Popen, port: int) -> None:
        self.data, self.process, self.port = data, process, port
        self.cookie, self.token, self.sent_on = "", "", ""

    def ask(self, method: str, target: str, body: bytes = b"", kind: str = "") -> tuple[int, bytes]:
        line = http.client.HTTPConnection("127.0.0.1", self.port, timeout=120)
        heads = {"Cookie": self.cookie, "Content-Type": kind} if kind else {"Cookie": self.cookie}
        line.request(method, target, body, heads)
        answer = line.getresponse()
        for name, value in answer.getheaders():
            if name == "Set-Cookie" and value.startswith("csrftoken="):
                self.cookie = value.split(";")[0]
        self.sent_on = answer.getheader("Location") or ""
        said = answer.read()
        line.close()
        return answer.status, said

    def send(self, target: str, data: bytes, name: str, **more: str) -> tuple[int, float, float, str]:
        """Send a file; return status, seconds, megabytes taken at the most, and the words."""
        mark = uuid.uuid4().hex
        fields = {"csrfmiddlewaretoken": self.token, **more}
        parts = [f'--{mark}\r\nContent-Disposition: form-data; name="{n}"\r\n\r\n{v}\r\n' for n, v in fields.items()]
        head = f'--{mark}\r\nContent-Disposition: form-data; name="file"; filename="{name}"\r\n\r\n'
        body = "".join(parts).encode() + head.encode() + data + f"\r\n--{mark}--\r\n".encode()
        before = self.megabytes(afresh=True)
        begun = time.monotonic()
        status, said = self.ask("POST", target, body, f"multipart/form-data; boundary={mark}")
        beside = self.sent_on == WORK  # looked at beside the page; its end is waited for
        while beside and time.monotonic() < begun + MOST_S:
            time.sleep(0.1)
            status, said = self.ask("GET", WORK)
            beside = b"An archive comes in" in said
        return status, time.monotonic() - begun, self.megabytes() - before, said.decode("utf-8", "replace")

    def megabytes(self, *, afresh: bool = False) -> float:
        """Return what the process has had in memory at the most; since now, where asked for."""
        place = Path(f"/proc/{self.process.pid}")
        if afresh:
            (place / "clear_refs").write_text("5")
        return int(re.search(r"VmHWM:\s+(\d+)", (place / "status").read_text()).group(1)) / 1024


@pytest.fixture(scope="module")
def served(tmp_path_factory):
    if not Path("/proc/self/clear_refs").exists():
        pytest.skip("needs Linux")
    data = tmp_path_factory.mktemp("attacked")
    environment = {**os.environ, "EVENGROUND_DATA": str(data), "OPENBLAS_NUM_THREADS": "1"}
    environment.pop("DATABASE_URL", None)
    environment["DJANGO_SETTINGS_MODULE"] = "evenground.web.config.settings"
    with (data / "log").open("wb") as log:
        process = subprocess.Popen(
            [sys.executable, "-m", "tests.web.phone.server", "0"], cwd=ROOT, env=environment, stdout=log, stderr=log
        )
    address, end = data / "address", time.monotonic() + 90
    while not address.is_file() and process.poll() is None and time.monotonic() < end:
        time.sleep(0.1)
    assert address.is_file(), (data / "log").read_text()
    made = Served(data, process, int(address.read_text().rsplit(":", 1)[1]))
    _status, page = made.ask("GET", "/backup/")
    made.token = re.search(rb'csrfmiddlewaretoken" value="([^"]+)', page).group(1).decode()
    yield made
    process.terminate()
    process.wait(15)


TRIAL = "/trials/twin-rows-on-the-langer-schlag-2026/"
BIG = b"id,time,who,place,note\n" + b'x,2026-05-04T10:00,"a; b",,\n' * 90_000
FILES = {
    "ten gigabytes, brought in": ("/backup/bring/", hostile.bomb, "t.zip", {"farm": "1"}),
    "ten gigabytes, put back": ("/backup/put-back/", hostile.bomb, "t.zip", {}),
    "ten gigabytes, a field": (f"{TRIAL}field/upload/", hostile.bomb, "t.zip", {}),
    "a bomb that lies": ("/backup/put-back/", hostile.lying_bomb, "t.zip", {}),
    "tables of 200 MB": ("/backup/bring/", hostile.fat_trial, "t.zip", {"farm": "1"}),
    "rows of 38 MB": ("/backup/put-back/", lambda: hostile.fat_backup(38_000_000), "t.zip", {}),
    "rows of 300 MB": ("/backup/put-back/", lambda: hostile.fat_backup(300_000_000), "t.zip", {}),
    "very many files": ("/backup/bring/", hostile.crowded, "t.zip", {"farm": "1"}),
    "very many files, put back": ("/backup/put-back/", hostile.crowded, "t.zip", {}),
    "entities that unfold": (f"{TRIAL}field/upload/", hostile.laughing_kml, "t.kml", {}),
    "folders in folders": (f"{TRIAL}field/upload/", hostile.deep_kml, "t.kml", {}),
    "a ring of 400,000 corners": (f"{TRIAL}field/upload/", lambda: hostile.geojson_ring(400_000), "t.json", {}),
    "brackets in brackets": (f"{TRIAL}field/upload/", lambda: hostile.deep_geojson(9_000_000), "t.json", {}),
    "one endless line": (f"{TRIAL}season/weather/", lambda: hostile.table_of_one_line(9_900_000), "w.csv", {}),
    "very many columns": (f"{TRIAL}season/weather/", hostile.table_of_cells, "w.csv", {}),
    "very many columns of a log": (f"{TRIAL}sowing/log/", hostile.table_of_cells, "w.csv", {"method": "A"}),
    "an open quote": (f"{TRIAL}season/border/yields/", lambda: hostile.open_quote(19_000_000), "w.csv", {}),
    "a table of many rows": (f"{TRIAL}records/scores/upload/", lambda: BIG, "w.csv", {}),
    "a log of many rows": (f"{TRIAL}sowing/log/", lambda: BIG * 7, "w.csv", {"method": "A"}),
    "weather of many rows": (f"{TRIAL}season/weather/", lambda: BIG * 3 + BIG[:1_000_000], "w.csv", {}),
    "2,500 million points said": (f"{TRIAL}stand/photo/", hostile.png_head, "p.png", {}),
    "400 million points": (f"{TRIAL}stand/photo/", hostile.png_bomb, "p.png", {}),
    "59 million points": (f"{TRIAL}stand/photo/", lambda: hostile.png_bomb(7_680), "p.png", {}),
    "a remark of 400 MB": (f"{TRIAL}stand/photo/", hostile.png_text_bomb, "p.png", {}),
}
SOUND = {"59 million points", "a remark of 400 MB"}
"""Pictures that may be taken, as long as they cost no more."""


@pytest.mark.parametrize("case", FILES)
def test_no_file_costs_much(served, case):
    target, make, name, more = FILES[case]
    status, seconds, megabytes, said = served.send(target, make(), name, **more)
    print(f"{case}: {status}, {seconds:.1f} s, {megabytes:.0f} MB")
    assert status in (400, 413, 422) or case in SOUND, f"{status}: {said[-300:]}"
    assert status < 500
    assert seconds < MOST_S
    assert megabytes < MOST_MB
