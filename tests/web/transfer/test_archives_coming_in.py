"""Large archives: sent in pieces, stored beside the page with progress, stopped without a trace, never in memory."""

from __future__ import annotations

import hashlib
import io
import os
import random
import time
import tracemalloc
import zipfile

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from evenground.adapters.zip_file import zip_pieces
from evenground.basis.errors import InputError
from evenground.web import jobs
from evenground.web.accounts.models import Membership, Role, User
from evenground.web.accounts.services import make_farm
from evenground.web.transfer import incoming, restoring, views, work, zips
from evenground.web.transfer.backups import back_up
from evenground.web.trials.models import Farm, Trial, TrialFile
from evenground.web.trials.services import make_trial


@pytest.fixture(autouse=True)
def own_folder(settings, tmp_path):
    settings.DATA = tmp_path


def noise(n: int, seed: int) -> bytes:
    return random.Random(seed).randbytes(n)


def with_pictures(trial: Trial, n: int, size: int = 400_000) -> list[str]:
    """Put pictures into a trial and return their hashes."""
    for i in range(n):
        TrialFile.objects.create(trial=trial, path=f"photos/{i}.jpg", content=noise(size, i))
    return hashes(trial)


def hashes(trial: Trial) -> list[str]:
    return [hashlib.sha256(bytes(f.content)).hexdigest() for f in trial.files.order_by("path").iterator(chunk_size=1)]


def ended(person: User) -> jobs.Job:
    """Wait for the work of a person."""
    job = jobs.latest(work.owner_of(person))
    end = time.monotonic() + 60
    while job.state == "running" and time.monotonic() < end:
        time.sleep(0.02)
    return job


@pytest.fixture
def pictured(db) -> tuple[Farm, User, list[str]]:
    """A farm with a trial that has some pictures."""
    person = User.objects.create_user("owner", password="a long enough word", local=True)
    farm = make_farm(name="Picture farm", owner=person)
    trial = make_trial(farm=farm, name="Pictured", season=2026, by=person)
    return farm, person, with_pictures(trial, 6)


def signed_in(person: User) -> Client:
    client = Client()
    client.force_login(person)
    return client


def in_pieces(client: Client, data: bytes, size: int = 300_000) -> str:
    """Send an archive as the page does; some pieces twice, as after a lost answer."""
    token = client.post("/backup/pieces/", {"size": len(data)}).json()["token"]
    for at in range(0, len(data), size):
        for _again in range(1 + (at % (3 * size) == 0)):
            answer = client.generic("POST", f"/backup/pieces/{token}/{at}/", data[at : at + size])
            assert answer.json() == {"size": min(len(data), at + size)}
    return token


@pytest.mark.django_db(transaction=True)
def test_a_farm_is_put_back_beside_the_page_with_its_pictures(pictured):
    farm, person, wanted = pictured
    client, data = signed_in(person), b"".join(back_up(farm))
    assert len(data) > work.AT_ONCE_BYTES
    answer = client.post("/backup/put-back/", {"kept": in_pieces(client, data)})
    assert answer.headers["Location"] == "/backup/work/"
    job = ended(person)
    assert (job.state, job.step) == ("done", pytest.approx(job.total, rel=0.01))
    page = client.get("/backup/work/", follow=True).content.decode()
    assert "Everything is back" in page
    new = Farm.objects.exclude(pk=farm.pk).get()
    assert Membership.objects.get(farm=new).user == person
    assert hashes(new.trials.get()) == wanted
    assert list(incoming._folder().iterdir()) == []
    assert client.get("/backup/work/").headers["Location"] == "/backup/"


@pytest.mark.django_db(transaction=True)
def test_a_trial_is_brought_in_beside_the_page_from_a_plain_form(pictured):
    farm, person, wanted = pictured
    client, old = signed_in(person), farm.trials.get()
    file = SimpleUploadedFile("t.zip", b"".join(zips.trial_as_zip(old)))
    answer = client.post("/backup/bring/", {"farm": farm.pk, "file": file})
    assert answer.headers["Location"] == "/backup/work/"
    assert ended(person).state == "done"
    new = Trial.objects.exclude(pk=old.pk).get()
    assert client.get("/backup/work/").headers["Location"] == f"/trials/{new.slug}/"
    assert hashes(new) == wanted


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("page", ["put-back", "bring"])
def test_stopped_in_the_middle_nothing_of_it_stays(pictured, monkeypatch, page):
    farm, person, _wanted = pictured
    client = signed_in(person)
    data = b"".join(back_up(farm) if page == "put-back" else zips.trial_as_zip(farm.trials.get()))
    before = (Farm.objects.count(), Trial.objects.count(), TrialFile.objects.count())
    seen = []

    def create(**what):
        seen.append(made := TrialFile(**what))
        made.save()
        if len(seen) == 3:  # in the midst of storing
            assert TrialFile.objects.count() == before[2] + 3
            assert client.post("/backup/work/").status_code == 302
        return made

    for module in (restoring, zips):
        monkeypatch.setattr(module.TrialFile.objects, "create", create)
    client.post(f"/backup/{page}/", {"farm": farm.pk, "kept": in_pieces(client, data)})
    assert ended(person).state == "stopped"
    assert (Farm.objects.count(), Trial.objects.count(), TrialFile.objects.count()) == before
    assert "It was stopped" in client.get("/backup/work/").content.decode()
    assert list(incoming._folder().iterdir()) == []


@pytest.mark.django_db(transaction=True)
def test_what_is_wrong_with_it_stands_on_the_page(pictured):
    farm, person, _wanted = pictured
    client, data = signed_in(person), bytearray(b"".join(back_up(farm)))
    data[len(data) // 2] ^= 1
    client.post("/backup/put-back/", {"kept": in_pieces(client, bytes(data))})
    assert ended(person).state == "failed"
    answer = client.get("/backup/work/")
    assert answer.status_code == 422
    assert "or it is damaged" in answer.content.decode()
    assert Farm.objects.count() == 1


@pytest.mark.django_db(transaction=True)
def test_what_a_program_that_ended_had_put_back_is_taken_away_and_nothing_else(pictured):
    farm, person, _wanted = pictured
    left, kept = (Farm.objects.create(name=n) for n in ("Half a farm", "A farm whose people left"))
    make_trial(farm=left, name="Half", season=2026, by=None)
    for one in (left, farm):  # of the second one somebody is the owner: it was finished, and only its note was left
        incoming.note_of(one.pk).touch()
    signed_in(person).get("/backup/")
    assert set(Farm.objects.all()) == {farm, kept}
    assert list(incoming.notes()) == []


def test_a_piece_out_of_turn_a_stranger_and_too_much_change_nothing(pictured, monkeypatch):
    _farm, person, _wanted = pictured
    client, stranger = signed_in(person), signed_in(User.objects.create_user("stranger"))
    token = client.post("/backup/pieces/", {"size": 10}).json()["token"]
    at = f"/backup/pieces/{token}/"
    assert client.generic("POST", f"{at}5/", b"abc").json() == {"size": 0}
    assert client.generic("POST", f"{at}0/", b"abc").json() == {"size": 3}
    assert stranger.generic("POST", f"{at}3/", b"def").status_code == 404
    assert stranger.post("/backup/put-back/", {"kept": token}).status_code == 404
    for odd in ("../../etc/passwd", f"{person.pk}-{'0' * 32}", "", f"farm-{person.pk}"):
        assert client.post("/backup/put-back/", {"kept": odd}).status_code == 404
    monkeypatch.setattr(views, "PIECE_BYTES", 2)
    assert client.generic("POST", f"{at}3/", b"def").status_code == 413
    assert incoming.find(token, person.pk).path.read_bytes() == b"abc"


def test_how_much_may_be_sent_and_that_there_is_room(pictured, monkeypatch):
    _farm, person, _wanted = pictured
    client, helper = signed_in(person), signed_in(User.objects.create_user("helper"))
    large = str(views.LARGEST_ZIP_BYTES + 1)
    assert "token" in client.post("/backup/pieces/", {"size": large}).json()
    assert "too large" in helper.post("/backup/pieces/", {"size": large}).json()["problems"][0]
    monkeypatch.setattr(incoming, "room_bytes", lambda: 1_000_000)
    answer = client.post("/backup/pieces/", {"size": "500000"})
    assert (answer.status_code, "not enough room" in answer.json()["problems"][0]) == (413, True)


def test_who_begins_again_takes_no_more_room(pictured):
    _farm, person, _wanted = pictured
    client = signed_in(person)
    first, second = (client.post("/backup/pieces/", {"size": 10}).json()["token"] for _ in range(2))
    assert incoming.find(first, person.pk) is None
    old = incoming.find(second, person.pk).path
    os.utime(old, (0, 0))
    incoming.begin(person.pk + 1, 1, 10)
    assert not old.exists()


def test_memory_does_not_grow_with_the_pictures(pictured):
    """Forty pictures of 1 MB go out and come back while less than a dozen of them are in memory."""
    farm, person, _wanted = pictured
    trial = farm.trials.get()
    trial.files.all().delete()
    wanted, packed = with_pictures(trial, 40, 1_000_000), io.BytesIO()
    tracemalloc.start()
    try:
        for piece in back_up(farm):
            packed.write(piece)
        held = len(packed.getbuffer())
        peak_out = tracemalloc.get_traced_memory()[1]
        tracemalloc.reset_peak()
        new = restoring.restore(file=packed, by=person)
        peak_in = tracemalloc.get_traced_memory()[1] - tracemalloc.get_traced_memory()[0]
    finally:
        tracemalloc.stop()
    assert held > 40_000_000
    # The archive itself stands in memory here, for want of a file, and grows by an eighth at a time.
    assert peak_out < 1.4 * held + 12_000_000
    assert peak_in < 12_000_000
    assert hashes(new.trials.get()) == wanted


def test_packing_hands_on_while_it_packs():
    asked = []

    def files():
        for i in range(5):
            asked.append(i)
            yield f"{i}.jpg", noise(10_000, i)

    pieces = zip_pieces(files())
    first = next(pieces)
    assert (asked, len(first) > 10_000) == ([0], True)
    with zipfile.ZipFile(io.BytesIO(first + b"".join(pieces))) as z:
        assert z.testzip() is None
        assert [z.read(f"{i}.jpg") == noise(10_000, i) for i in range(5)] == [True] * 5


def test_a_table_too_large_to_be_read_is_refused_before_it_is(pictured, monkeypatch):
    farm, person, _wanted = pictured
    monkeypatch.setattr(restoring, "TABLE_BYTES", 10)
    with pytest.raises(InputError, match="tables in this backup are too large"):
        restoring.restore(file=io.BytesIO(b"".join(back_up(farm))), by=person)
    assert Role.OWNER in {m.role for m in farm.memberships.all()}
