"""The pages of moving data."""

from __future__ import annotations

import io
import zipfile

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from evenground.adapters.record_table import read_records
from evenground.web.accounts.models import Membership, Role, User
from evenground.web.transfer import views
from evenground.web.transfer.zips import trial_as_zip
from evenground.web.trials.models import Farm, Trial
from evenground.web.trials.store import DatabaseStore


def content(answer) -> bytes:
    return b"".join(answer.streaming_content) if answer.streaming else answer.content


def zipped(trial) -> SimpleUploadedFile:
    return SimpleUploadedFile("trial.zip", b"".join(trial_as_zip(trial)), "application/zip")


def test_what_can_be_taken_out_is_shown_with_how_much_there_is(browser, demo_trial):
    text = browser.get(f"/trials/{demo_trial.slug}/move/").content.decode()
    records = DatabaseStore(demo_trial).load().records
    assert f'<td class="right">{len(records.weighings)}</td>' in text
    for link in ("trial.zip", "trial.zip?places=0", "weighings.csv", "weighings.csv?places=0"):
        assert f'href="{link}"' in text


def test_a_trial_is_taken_out_and_brought_in_again(browser, demo_trial, farm):
    answer = browser.get(f"/trials/{demo_trial.slug}/move/trial.zip")
    assert answer.headers["Content-Disposition"] == f'attachment; filename="{demo_trial.slug}.zip"'
    file = SimpleUploadedFile("x.zip", content(answer))
    answer = browser.post("/backup/bring/", {"farm": farm.pk, "file": file})
    new = Trial.objects.exclude(pk=demo_trial.pk).get()
    assert answer.headers["Location"] == f"/trials/{new.slug}/"
    assert DatabaseStore(new).load() == DatabaseStore(demo_trial).load()


def test_records_go_out_as_a_table_that_reads_back(browser, demo_trial):
    data = content(browser.get(f"/trials/{demo_trial.slug}/move/samples.csv"))
    read = read_records(data, "samples", file="samples.csv")
    assert (list(read.problems), read.records) == ([], DatabaseStore(demo_trial).load().records.samples)
    bare = read_records(
        content(browser.get(f"/trials/{demo_trial.slug}/move/samples.csv?places=0")), "samples", file="x"
    )
    assert all(r.lon is None for r in bare.records)
    assert len(bare.records) == len(read.records)
    assert browser.get(f"/trials/{demo_trial.slug}/move/tea.csv").status_code == 404


def test_a_kind_without_records_is_a_table_with_a_heading(browser, new_trial):
    assert content(browser.get(f"/trials/{new_trial.slug}/move/loads.csv")).startswith(b"id,time,")


@pytest.mark.parametrize("name", ["bring", "put-back"])
def test_all_problems_stand_on_the_page_and_nothing_is_stored(browser, farm, name):
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as z:
        z.writestr("../a", b"x")
        z.writestr("/b", b"x")
    file = SimpleUploadedFile("x.zip", out.getvalue())
    answer = browser.post(f"/backup/{name}/", {"farm": farm.pk, "file": file})
    assert answer.status_code == 422
    assert answer.content.decode().count("leads out of the archive") == 2
    assert (Trial.objects.count(), Farm.objects.count()) == (0, 1)


@pytest.mark.parametrize("name", ["bring", "put-back"])
def test_without_a_file_or_with_one_too_large_the_page_says_so(browser, farm, name, monkeypatch):
    assert "Choose a file" in browser.post(f"/backup/{name}/", {"farm": farm.pk}).content.decode()
    monkeypatch.setattr(views, "LARGEST_ZIP_BYTES", 3)
    answer = browser.post(f"/backup/{name}/", {"farm": farm.pk, "file": SimpleUploadedFile("x", b"four")})
    assert "too large" in answer.content.decode()


def test_a_farm_is_backed_up_and_put_back_beside_itself(browser, demo_trial, farm, owner):
    assert f"Back up {farm.name}" in browser.get("/backup/").content.decode()
    answer = browser.get(f"/backup/{farm.pk}/farm.zip")
    assert answer.headers["Content-Disposition"].endswith('.evenground.zip"')
    file = SimpleUploadedFile("x.zip", content(answer))
    page = browser.post("/backup/put-back/", {"file": file}, follow=True).content.decode()
    assert "Everything is back" in page
    new = Farm.objects.exclude(pk=farm.pk).get()
    assert Membership.objects.get(farm=new).user == owner
    assert DatabaseStore(new.trials.get()).load() == DatabaseStore(demo_trial).load()


def test_only_owners_back_a_farm_up_and_nobody_brings_a_trial_to_a_farm_of_others(client, farm, demo_trial):
    adviser, stranger = (User.objects.create_user(n) for n in ("adviser", "stranger"))
    Membership.objects.create(user=adviser, farm=farm, role=Role.ADVISER)
    client.force_login(adviser)
    assert client.get(f"/backup/{farm.pk}/farm.zip").status_code == 404
    assert client.post("/backup/bring/", {"farm": farm.pk, "file": zipped(demo_trial)}).status_code == 302
    client.force_login(stranger)
    for number in (farm.pk, "", "x", "-1", "99999999999999", "²"):
        assert client.post("/backup/bring/", {"farm": number, "file": zipped(demo_trial)}).status_code == 404
    assert farm.trials.count() == 2
    assert "you own none" in client.get("/backup/").content.decode()


def test_helpers_take_nothing_out(client, demo_trial):
    from evenground.web.accounts.services import give_role

    helper = User.objects.create_user("helper")
    give_role(user=helper, role=Role.HELPER, trial=demo_trial)
    client.force_login(helper)
    for page in ("", "trial.zip", "loads.csv"):
        assert client.get(f"/trials/{demo_trial.slug}/move/{page}").status_code == 403
