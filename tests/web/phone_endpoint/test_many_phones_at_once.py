"""Eight phones come back from the field and send 200 records each at once, while pages are read."""

from __future__ import annotations

import contextlib
import http.client
import sqlite3
import threading

import psycopg
import pytest

from tests.web.phones import Phone, kill, nursery
from tests.web.postgresql import binaries, running_postgresql

PHONES, EACH = 8, 200
PAGES = ("/phone/api/trials/", "/phone/here/", "/phone/api/held/", "/backup/")


POSTGRESQL = pytest.param("postgresql", marks=pytest.mark.skipif(binaries() is None, reason="needs PostgreSQL"))


@pytest.fixture(params=["sqlite", POSTGRESQL])
def database(request, tmp_path):
    """The address of a database ("" is the SQLite file), and a way to ask it something."""
    if request.param == "sqlite":

        def ask(query):
            with contextlib.closing(sqlite3.connect(tmp_path / "evenground.sqlite3")) as base:
                return base.execute(query).fetchall()

        yield "", ask
        return
    with running_postgresql() as url:

        def ask(query):
            with psycopg.connect(url) as base:
                return base.execute(query).fetchall()

        yield url, ask


def read_pages(port, stop, statuses):
    with contextlib.closing(http.client.HTTPConnection("127.0.0.1", port, timeout=60)) as line:
        while not stop.is_set():
            for page in PAGES:
                line.request("GET", page)
                answer = line.getresponse()
                answer.read()
                statuses.append(answer.status)


def test_all_are_stored_once_and_none_is_lost(database, tmp_path):
    url, ask = database
    with nursery(tmp_path, url) as made:
        pid, port = made.server()
        phones = [Phone(f"phone{n}", made.slug) for n in range(PHONES)]
        for phone in phones:
            phone.see(EACH)
        stop, statuses = threading.Event(), []
        readers = [threading.Thread(target=read_pages, args=(port, stop, statuses)) for _ in range(2)]
        senders = [threading.Thread(target=p.send, args=(port,)) for p in phones]
        for one in (*readers, *senders):
            one.start()
        for one in senders:
            one.join()
        stop.set()
        for one in readers:
            one.join()
        for phone in phones:  # once more, as after a lost reply
            phone.see(EACH)
            phone.send(port, batch=100)
        kill(pid)
    assert {s for p in phones for s in p.statuses} == {200}
    assert set(statuses) == {200}
    assert len(statuses) > 20  # pages were answered meanwhile
    for phone in phones:
        assert phone.told == ["stored"] * EACH + ["already"] * EACH
        assert not phone.waiting
    stored = [name for (name,) in ask("select record_id from trials_storedrecord")]
    assert sorted(stored) == sorted(f"phone{n}-{i}" for n in range(PHONES) for i in range(EACH))
    assert ask("select count(*) from trials_heldentry") == [(0,)]
