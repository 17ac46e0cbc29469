"""Pages from records to verdict answer whatever a trial has or lacks: no field, no records, some records, no draw."""

from __future__ import annotations

import pytest

from evenground.web.trials.models import FieldVersion, StoredRecord

PAGES = (
    "records/",
    "records/loads/",
    "records/events/add/",
    "sowing/",
    "sowing/cards/A.pdf",
    "sowing/as-sown/",
    "stand/",
    "stand/space.svg",
    "stand/count-sheet.pdf",
    "stand/photo/",
    "season/",
    "season/pictures/season.svg",
    "season/agenda.ics",
    "season/fairness/",
    "season/walk/",
    "season/walk/score/",
    "season/border/",
    "harvest/",
    "harvest/state.json",
    "harvest/harvest-pack.pdf",
    "verdict/",
    "verdict/adviser/",
    "verdict/report.html",
    "verdict/papers/sign/",
    "verdict/papers/pack/",
)
HARVEST = ("loads", "weighings", "samples")


def without_field(trial):
    FieldVersion.objects.filter(trial=trial).delete()


def without_records(trial):
    StoredRecord.objects.filter(trial=trial).delete()


def without_harvest(trial):
    StoredRecord.objects.filter(trial=trial, kind__in=HARVEST).delete()


def with_one_block(trial):
    keep = StoredRecord.objects.filter(trial=trial, kind="loads").order_by("pk")[:3].values_list("pk", flat=True)
    StoredRecord.objects.filter(trial=trial, kind="weighings").delete()
    StoredRecord.objects.filter(trial=trial, kind="loads").exclude(pk__in=list(keep)).delete()


def without_draw(trial):
    without_records(trial)
    trial.draws.all().delete()


@pytest.mark.parametrize(
    "change", [without_field, without_records, without_harvest, with_one_block, without_draw], ids=lambda f: f.__name__
)
def test_every_page_answers(browser, demo_trial, change):
    change(demo_trial)
    for page in PAGES:
        answer = browser.get(f"/trials/{demo_trial.slug}/{page}")
        assert answer.status_code in (200, 302, 404), page
