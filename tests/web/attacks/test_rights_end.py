"""Rights that end at once, viewers who change nothing, two people at one browser, other methods, headers of pages."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from evenground.web.accounts import services
from evenground.web.accounts.models import DayLink, Role, User
from evenground.web.accounts.selectors import farms_owned

from .dumps import everything
from .forms_on_pages import address, forms_of, routes

PASSWORD = "a long enough word"
OWN_THINGS = {
    "accounts:password",
    "accounts:accept",
    "network:pair_with",
    "network:pair",
    "accounts:login",
    "network:make_code",
}
"""What a viewer may do about themselves: their password, links and codes that carry their own secret."""
STARTS_A_FARM = {"start:new", "start:door", "transfer:put_back", "transfer:bring"}
"""Anybody who is signed in may start a farm of their own; it is not this trial's."""


@pytest.fixture
def signed_in(settings):
    settings.NETWORK = True

    def make(name: str, role: Role | None, trial, client: Client | None = None) -> Client:
        person = User.objects.create_user(name, password=PASSWORD)
        if role is not None:
            services.give_role(user=person, role=role, trial=trial)
        browser = client or Client()
        browser.force_login(person)
        return browser

    return make


def test_a_helper_who_is_sent_away_is_out_at_once(signed_in, browser, demo_trial):
    helper = signed_in("helper", Role.HELPER, demo_trial)
    add = f"/trials/{demo_trial.slug}/records/scores/add/"
    assert helper.get(add).status_code == 200
    person = User.objects.get(username="helper")
    browser.post("/people/withdraw/", {"user": person.pk, "trial": demo_trial.pk})
    before = everything()
    for page in (add, f"/trials/{demo_trial.slug}/", f"/trials/{demo_trial.slug}/verdict/report.html"):
        assert helper.get(page).status_code == 404
    assert helper.post(add, {"row0-who": "x"}).status_code == 404
    entry = {"trial": demo_trial.slug, "device": "d", "entries": [{"kind": "scores", "id": "late", "fields": {}}]}
    assert helper.post("/phone/api/entries/", entry, content_type="application/json").status_code == 404
    assert helper.get("/phone/api/trials/").json()["trials"] == []
    assert demo_trial.slug not in helper.get("/").content.decode()
    assert everything() == before


def test_a_day_link_that_is_withdrawn_is_out_at_once(settings, owner, demo_trial):
    settings.NETWORK = True
    driver = Client()
    secret = services.make_day_link(trial=demo_trial, label="driver", valid_on=timezone.localdate(), by=owner)
    driver.post(f"/people/day/{secret}/")
    assert driver.get("/phone/api/trials/").status_code == 200
    services.withdraw_day_link(link=DayLink.objects.get(), at=timezone.now())
    assert driver.get("/phone/api/trials/").status_code == 401
    assert driver.post(f"/people/day/{secret}/").status_code == 404


def test_a_person_who_is_switched_off_is_out_at_once(signed_in, demo_trial):
    helper = signed_in("helper", Role.HELPER, demo_trial)
    User.objects.filter(username="helper").update(is_active=False)
    assert helper.get(f"/trials/{demo_trial.slug}/").status_code in (302, 404)
    assert helper.get("/phone/api/trials/").status_code == 401


def test_a_new_password_ends_the_other_sessions(signed_in, demo_trial):
    first = signed_in("helper", Role.HELPER, demo_trial)
    second = Client()
    second.force_login(User.objects.get(username="helper"))
    said = {"old_password": PASSWORD, "new_password1": "another long word", "new_password2": "another long word"}
    assert first.post("/people/password/", said).status_code == 302
    assert first.get(f"/trials/{demo_trial.slug}/").status_code == 200
    assert second.get(f"/trials/{demo_trial.slug}/").status_code == 302


def test_two_people_at_one_browser_see_their_own(signed_in, demo_trial):
    """What the one had open says nothing to the other; what the day link allowed ends with it."""
    shared = signed_in("helper", Role.HELPER, demo_trial)
    page = shared.get("/").content.decode()
    assert demo_trial.slug in page
    cookie = shared.cookies["evenground"].value
    gone = shared.post("/people/logout/")
    assert gone.headers["Clear-Site-Data"] == '"cache"'  # never "storage": there a phone keeps what the farm lacks
    signed_in("stranger", None, demo_trial, shared)
    assert demo_trial.slug not in shared.get("/").content.decode()
    assert shared.get(f"/trials/{demo_trial.slug}/").status_code == 404
    assert shared.cookies["evenground"].value != cookie
    thief = Client()
    thief.cookies["evenground"] = cookie
    assert thief.get(f"/trials/{demo_trial.slug}/").status_code == 302


def test_a_driver_who_signs_in_as_somebody_else_loses_nothing_and_gains_nothing(signed_in, owner, demo_trial):
    driver = Client()
    secret = services.make_day_link(trial=demo_trial, label="driver", valid_on=timezone.localdate(), by=owner)
    driver.post(f"/people/day/{secret}/")
    DayLink.objects.update(valid_on=timezone.localdate() - timedelta(days=1))
    signed_in("stranger", None, demo_trial, driver)
    assert driver.get("/phone/api/trials/").json()["trials"] == []


def test_a_viewer_changes_nothing(signed_in, demo_trial):
    """Every address, asked by every method with what its own forms would send."""
    viewer = signed_in("viewer", Role.VIEWER, demo_trial)
    owner = Client()
    owner.force_login(User.objects.get(username="owner"))
    values = {"kind": "samples", "number": demo_trial.farm_id, "letter": "A"}
    named = {name: address(name, demo_trial.slug, **values) for name in routes()}
    forms = forms_of(owner, [a for n, a in named.items() if demo_trial.slug in a and a.endswith("/")])
    before = everything(but=frozenset({"accounts.User"}))
    for name, target in named.items():
        if name in OWN_THINGS | STARTS_A_FARM | {"accounts:logout"}:
            continue
        said = {n: offered[0] if offered else "1" for n, offered in forms.get(target, {}).items()}
        for method in ("post", "put", "delete", "patch"):
            answer = getattr(viewer, method)(target, said if method == "post" else "x=1")
            assert answer.status_code < 500, f"{method} {target}"
            answer.getvalue()
        assert everything(but=frozenset({"accounts.User"})) == before, name
    assert not farms_owned(User.objects.get(username="viewer")).exists()


def test_asking_changes_nothing(browser, demo_trial):
    """The owner opens every page: nothing is stored by looking."""
    before = everything()
    for name in routes():
        target = address(name, demo_trial.slug, kind="samples", number=demo_trial.farm_id)
        for method in ("head", "options", "get"):
            answer = getattr(browser, method)(target)
            assert answer.status_code < 500, f"{method} {target}"
            content = answer.getvalue()
            assert method != "head" or answer.status_code == 404 or not content or "html" not in str(content[:20])
        assert browser.generic("TRACE", target).status_code in (302, 404, 405), target
    assert everything() == before


def test_pages_carry_their_headers(browser, demo_trial):
    """Every page and file: one policy, no guessing of kinds, no frames, no address told elsewhere, not kept."""
    for name in routes():
        target = address(name, demo_trial.slug, kind="samples", number=demo_trial.farm_id)
        answer = browser.get(target)
        answer.getvalue()
        heads = answer.headers
        policy = heads["Content-Security-Policy"]
        assert "default-src 'none'" in policy, name
        assert "unsafe-eval" not in policy, name
        assert "script-src 'unsafe" not in policy, name
        assert heads["X-Content-Type-Options"] == "nosniff", name
        assert heads["X-Frame-Options"] in ("DENY", "SAMEORIGIN"), name
        assert heads["Referrer-Policy"] == "same-origin", name
        assert heads["Cross-Origin-Opener-Policy"] == "same-origin", name
        assert heads["Cross-Origin-Resource-Policy"] == "same-origin", name
        if demo_trial.slug in target or name in ("start:home", "start:due", "accounts:people", "transfer:backup"):
            # A page with somebody's data stays in this browser and is asked for again after signing out.
            kept = heads.get("Cache-Control", "")
            assert "private" in kept, name
            assert "no-cache" in kept or "no-store" in kept or "max-age=0, must-revalidate" in kept, name
            assert "public" not in kept, name
