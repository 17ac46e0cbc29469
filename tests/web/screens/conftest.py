"""What the browser tests at the table share: one Chromium, a page at desk and at phone size, the app behind it."""

from __future__ import annotations

import pytest

DESK, PHONE = {"width": 1280, "height": 900}, {"width": 390, "height": 844}


@pytest.fixture
def make_page(chrome):
    """Make pages of a given size; whatever a page says on the console as an error fails the test."""
    contexts, faults = [], []

    def make(size=DESK):
        context = chrome.new_context(viewport=size, locale="en-GB", reduced_motion="reduce")
        context.set_default_timeout(40_000)
        contexts.append(context)
        page = context.new_page()
        page.on("pageerror", lambda error: faults.append(str(error)))
        page.on("console", lambda said: faults.append(said.text) if said.type == "error" else None)
        page.faults = faults
        return page

    yield make
    for context in contexts:
        context.close()


@pytest.fixture
def app(live_server, demo_trial):
    """The address of the demo trial on a server of its own."""
    return f"{live_server.url}/trials/{demo_trial.slug}/"
