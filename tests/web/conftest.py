"""What the tests of the web app share: a person, a farm, the demo trial in the database."""

from __future__ import annotations

from pathlib import Path

import pytest
from django.test import Client

from evenground.adapters.trial_folder import TrialFolder
from evenground.basis.observations import RECORD_KINDS
from evenground.web.accounts.models import User
from evenground.web.accounts.services import make_farm
from evenground.web.trials.models import Farm, Trial
from evenground.web.trials.services import make_trial
from evenground.web.trials.store import DatabaseStore


@pytest.fixture
def owner(db) -> User:
    """The one person at this machine."""
    return User.objects.create_user("owner", password="a long enough word", local=True)


@pytest.fixture
def farm(owner) -> Farm:
    return make_farm(name="Demo farm", owner=owner)


@pytest.fixture
def new_trial(farm, owner) -> Trial:
    """A trial as it begins: the template plan and nothing else."""
    return make_trial(farm=farm, name="New trial", season=2026, by=owner)


@pytest.fixture(scope="session")
def demo_folder(tmp_path_factory) -> Path:
    """The demo trial as a folder, made once."""
    from evenground.cli.demo import run

    path = tmp_path_factory.mktemp("demo")
    run(path)
    return path / "trial"


@pytest.fixture
def demo_trial(farm, owner, demo_folder) -> Trial:
    """The demo trial in the database, drawn, harvested and weighed."""
    folder = TrialFolder(demo_folder)
    stored = folder.load()
    trial = make_trial(
        farm=farm,
        name=stored.plan.trial.name,
        season=stored.plan.trial.season,
        by=owner,
        plan_text=folder.plan_text(),
    )
    store = DatabaseStore(trial, owner)
    store.save_field((demo_folder / "field.geojson").read_text(encoding="utf-8"))
    for draw in stored.draws:
        store.append_draw(draw)
    store.append_records([r for kind in RECORD_KINDS for r in getattr(stored.records, kind)])
    trial.refresh_from_db()
    return trial


@pytest.fixture
def browser(owner) -> Client:
    """A signed-in browser without a screen."""
    client = Client(raise_request_exception=True)
    client.force_login(owner)
    return client


@pytest.fixture(scope="session")
def chrome(chromium):
    """Headless Chromium, started once: its driver allows only one a process."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        started = play.chromium.launch(executable_path=str(chromium), args=["--no-sandbox"])
        yield started
        started.close()
