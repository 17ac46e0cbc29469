"""An adviser with thirty trials: the first page and the list of what is due answer in time, with few questions each."""

from __future__ import annotations

import io
import json
import time

import pytest
from django.db import connection
from django.test import Client

from evenground.web.accounts.models import Role, User
from evenground.web.accounts.services import give_role, make_farm
from evenground.web.transfer.zips import take_zip, trial_as_zip
from evenground.web.trials.models import StoredRecord, Trial

MOST_S = 2.0
TRIALS = 30
QUESTIONS_A_TRIAL = 9


def as_one_of_its_own(trial: Trial, number: int) -> None:
    """Make every text of a trial its own, so that nothing that was read for one serves another."""
    records = list(trial.records.all())
    for record in records:
        record.text = json.dumps({**json.loads(record.text), "who": f"person {number}"})
    StoredRecord.objects.bulk_update(records, ["text"], batch_size=200)
    for version in (*trial.plans.all(), *trial.fields.all(), *trial.draws.all()):
        version.text += "\n" * (number + 1)
        version.save()


@pytest.fixture
def adviser(demo_trial, owner) -> Client:
    """Somebody who looks after three farms with ten trials each, all weighed."""
    person = User.objects.create_user("adviser")
    farms = [make_farm(name=f"Invented farm {i}", owner=owner) for i in range(3)]
    for farm in farms:
        give_role(user=person, role=Role.ADVISER, farm=farm)
    demo_trial.records.filter(kind="stand_counts").delete()  # so that something is due in each of them
    for number in range(TRIALS):
        packed = io.BytesIO(b"".join(trial_as_zip(demo_trial)))
        as_one_of_its_own(take_zip(farm=farms[number % 3], file=packed, by=owner), number)
    client = Client()
    client.force_login(person)
    return client


@pytest.mark.parametrize("page", ["/", "/due/"])
def test_thirty_trials_in_time(adviser, page):
    asked: list[str] = []

    def counted(execute, sql, parameters, many, context):
        asked.append(sql)
        return execute(sql, parameters, many, context)

    with connection.execute_wrapper(counted):
        begun = time.monotonic()
        assert adviser.get(page).status_code == 200
        cold = time.monotonic() - begun
    begun = time.monotonic()
    answer = adviser.get(page)
    warm = time.monotonic() - begun
    print(f"{page}: {cold:.2f} s at first, {warm:.2f} s again, {len(asked)} questions")
    assert answer.content.decode().count("twin-rows-on-the-langer-schlag") >= TRIALS
    assert warm < MOST_S
    assert len(asked) <= 12 + QUESTIONS_A_TRIAL * TRIALS
