"""The server is killed fifty times while records arrive: what was acknowledged is there, and the rest can be sent."""

from __future__ import annotations

import contextlib
import http.client
import random
import sqlite3
import threading
import time

from tests.web.phones import Phone, kill, nursery

KILLS = 50
LONGEST_LIFE_S = 0.2
PATIENCE_S = 20.0
NOT_ANSWERED = (OSError, http.client.HTTPException)


def keep_sending(phone: Phone, port: int, stop: threading.Event, number: list[int]) -> None:
    """Send entry after entry until the line breaks."""
    with contextlib.suppress(*NOT_ANSWERED):
        while not stop.is_set():
            if len(phone.waiting) < 20:
                phone.see(20, first=number[0])
                number[0] += 20
            phone.send(port, batch=4, most=3)


def wait_for_work(phones: list[Phone]) -> None:
    """Wait until the server has acknowledged something."""
    before, end = sum(len(p.told) for p in phones), time.monotonic() + PATIENCE_S
    while sum(len(p.told) for p in phones) == before and time.monotonic() < end:
        time.sleep(0.005)


def look(file) -> tuple[str, set[str], int]:
    """Ask the database itself: is it sound, and what is in it."""
    with contextlib.closing(sqlite3.connect(file)) as base:
        sound = base.execute("PRAGMA integrity_check").fetchone()[0]
        rows = [name for (name,) in base.execute("select record_id from trials_storedrecord")]
    return sound, set(rows), len(rows)


def test_every_acknowledged_record_is_there_and_the_rest_follows(tmp_path):
    chance = random.Random(20261125)
    file = tmp_path / "evenground.sqlite3"
    with nursery(tmp_path) as made:
        phones = [Phone(f"phone{n}", made.slug) for n in range(2)]
        numbers = [[0], [0]]
        cut_off = 0
        for turn in range(KILLS):
            pid, port = made.server()
            stop = threading.Event()
            threads = [
                threading.Thread(target=keep_sending, args=(p, port, stop, n))
                for p, n in zip(phones, numbers, strict=True)
            ]
            for one in threads:
                one.start()
            if turn % 2:  # every other time only once it is at work: a machine under load is slow to answer at all
                wait_for_work(phones)
            time.sleep(chance.uniform(0.0, LONGEST_LIFE_S))
            kill(pid)
            stop.set()
            for one in threads:
                one.join()
            sound, stored, _ = look(file)
            acknowledged = set().union(*(p.acknowledged for p in phones))
            assert sound == "ok"
            assert acknowledged <= stored
            cut_off += len(stored - acknowledged)
        pid, port = made.server()
        for phone in phones:
            phone.send(port)
            assert not phone.waiting
        kill(pid)
    sound, stored, rows = look(file)
    assert sound == "ok"
    assert stored == {f"phone{n}-{i}" for n, made_up in enumerate(numbers) for i in range(made_up[0])}
    assert rows == len(stored)
    assert {s for p in phones for s in p.statuses} == {200}
    # Otherwise the test shows nothing: records were acknowledged, and some were stored but their answer was lost.
    assert len(stored) > 100
    assert cut_off > 0
