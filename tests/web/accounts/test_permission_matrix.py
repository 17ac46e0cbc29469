"""Every address, asked by everybody: who gets in, who is told no, who is told nothing.

A new address without a rule in `RULES` fails, so that nobody forgets to decide who may use it.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from datetime import timedelta

import pytest
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse
from django.utils import timezone

from evenground.web.accounts import services
from evenground.web.accounts.access import Right
from evenground.web.accounts.models import DayLink, Role, User

from .permission_rules import ANYBODY, DAY_TOO, NOT_YET, RULES, SIGNED_IN, VALUES

PLACES = ("owner", "adviser", "helper", "viewer")
EVERYBODY = (*PLACES, "stranger", "driver", "driver of yesterday", "nobody")
MAY = {
    Right.VIEW: {"owner", "adviser", "helper", "viewer"},
    Right.RECORD: {"owner", "adviser", "helper"},
    Right.RECORD_DAY: {"owner", "adviser", "helper", "driver"},
    Right.PLAN: {"owner", "adviser"},
    Right.SHARE: {"owner"},
}
INSIDE = {"owner", "adviser", "helper", "viewer", "driver"}
"""Those who know of the trial; everybody else is told that there is none."""


def addresses() -> Iterator[tuple[str, tuple[str, ...]]]:
    """List every named address with its parameters."""

    def walk(resolver: URLResolver, space: str, given: tuple[str, ...]) -> Iterator[tuple[str, tuple[str, ...]]]:
        for pattern in resolver.url_patterns:
            names = (*given, *pattern.pattern.converters)
            if isinstance(pattern, URLPattern):
                assert pattern.name, f"{pattern} has no name"
                yield f"{space}{pattern.name}", names
            else:
                inner = f"{pattern.namespace}:" if pattern.namespace else ""
                yield from walk(pattern, space + inner, names)

    yield from walk(get_resolver(), "", ())


ADDRESSES = sorted(set(addresses()))


@pytest.fixture
def crowd(settings, owner, farm, new_trial) -> dict[str, Client]:
    """Everybody who may ask, each with a browser."""
    settings.NETWORK = True
    people = {name: User.objects.create_user(name) for name in ("adviser", "helper", "viewer", "stranger")}
    services.give_role(user=people["adviser"], role=Role.ADVISER, farm=farm)
    services.give_role(user=people["helper"], role=Role.HELPER, trial=new_trial)
    services.give_role(user=people["viewer"], role=Role.VIEWER, trial=new_trial)
    services.make_farm(name="Another farm", owner=people["stranger"])
    clients = {name: Client(raise_request_exception=False) for name in EVERYBODY}
    for name, user in {**people, "owner": owner}.items():
        clients[name].force_login(user)
    today = timezone.localdate()
    for name in ("driver", "driver of yesterday"):
        secret = services.make_day_link(trial=new_trial, label=name, valid_on=today, by=owner)
        clients[name].post(f"/people/day/{secret}/")
    DayLink.objects.filter(label="driver of yesterday").update(valid_on=today - timedelta(days=1))
    return clients


def outcome(response) -> str:
    """Say in one word what somebody was told."""
    if response.status_code in (301, 302) and "/people/login/" in response.headers["Location"]:
        return "sign in"
    return {401: "sign in", 403: "no", 404: "nothing"}.get(response.status_code, "in")


def test_every_address_has_a_rule_and_every_rule_an_address():
    names = {name for name, _ in ADDRESSES}
    assert names - set(RULES) == set()
    assert set(RULES) - names == set()


@pytest.mark.parametrize(("name", "parameters"), ADDRESSES, ids=[n for n, _ in ADDRESSES])
def test_who_gets_in(crowd, new_trial, name, parameters):
    rule = RULES.get(name)
    if rule is None or rule is ANYBODY:
        assert rule is ANYBODY
        return
    values = {**VALUES, "slug": new_trial.slug}
    address = reverse(name, kwargs={p: values[p] for p in parameters})
    # The owner last, because what the owner may do changes things for the others.
    for method, who in itertools.product(("GET", "POST"), reversed(EVERYBODY)):
        answer = crowd[who].generic(method, address)
        assert answer.status_code < 500, f"{method} by {who}: {answer.status_code}"
        if answer.streaming:
            answer.getvalue()  # a file that is handed over is closed once it was read
        if answer.status_code == 405:
            continue
        told = outcome(answer)
        if rule is DAY_TOO:
            wanted = {"in", "nothing"} if who in {*PLACES, "stranger", "driver"} else {"sign in"}
        elif rule is SIGNED_IN:
            wanted = {"in", "nothing"} if who in {*PLACES, "stranger"} else {"sign in", "no", "nothing"}
        elif who in MAY[rule]:
            # "nothing" is allowed where the address names a thing inside the trial that is not there.
            wanted = {"in", "nothing"} if set(parameters) - {"slug"} or name in NOT_YET else {"in"}
        elif who in INSIDE:
            wanted = {"no"}
        else:
            wanted = {"nothing"} if who == "stranger" else {"sign in", "nothing"}
        assert told in wanted, f"{method} by {who}: told {told!r} ({answer.status_code}), wanted {sorted(wanted)}"


@pytest.mark.parametrize(("name", "parameters"), ADDRESSES, ids=[n for n, _ in ADDRESSES])
def test_nothing_is_changed_from_another_site(owner, new_trial, name, parameters):
    values = {**VALUES, "slug": new_trial.slug}
    client = Client(enforce_csrf_checks=True, raise_request_exception=False)
    client.force_login(owner)
    answer = client.post(
        reverse(name, kwargs={p: values[p] for p in parameters}), headers={"origin": "https://evil.example"}
    )
    assert answer.status_code in (403, 404, 405)
