"""Invitations, roles and day links, through the pages."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from django.core.exceptions import ValidationError
from django.test import Client
from django.utils import timezone

from evenground.web.accounts import services
from evenground.web.accounts.access import Right, request_rights, rights_in, visible_trials
from evenground.web.accounts.models import DayLink, Invitation, Membership, Role, Share, User
from evenground.web.network.first_start import way_in

PASSWORD = "quite a long word"


@pytest.fixture
def network(settings):
    settings.NETWORK = True


def link_on(page: str, start: str) -> str:
    """Return the path of the link that a page shows once."""
    found = re.search(rf'href="https?://testserver(/{start}/[^"]+)"', page)
    assert found is not None, page
    return found.group(1)


def test_an_owner_invites_a_helper_who_sees_that_trial_only(network, browser, farm, new_trial, demo_trial):
    data = {"label": "Ben", "role": "helper", "trial": new_trial.pk}
    page = browser.post("/people/invite/", data, follow=True).content.decode()
    path = link_on(page, "people/join")
    assert path not in browser.get("/people/").content.decode(), "shown once"
    guest = Client()
    assert "New trial" in guest.get(path).content.decode()
    assert guest.post(path, {"name": "Ben", "password": PASSWORD}).status_code == 302
    ben = User.objects.get(username="Ben")
    assert list(visible_trials(ben)) == [new_trial]
    assert rights_in(ben, new_trial) == {Right.VIEW, Right.RECORD, Right.RECORD_DAY}
    assert not rights_in(ben, demo_trial)
    assert Client().get(path).status_code == 404, "used once"


def test_an_adviser_has_several_farms(network, browser, farm, new_trial, owner):
    adviser = User.objects.create_user("Cleo", password=PASSWORD)
    other_owner = User.objects.create_user("Dirk", password=PASSWORD)
    other = services.make_farm(name="Other farm", owner=other_owner)
    for one in (farm, other):
        secret = services.invite(label="Cleo", role=Role.ADVISER, by=owner, farm=one)
        guest = Client()
        guest.force_login(adviser)
        assert guest.post(f"/people/join/{secret}/").status_code == 302
    assert Membership.objects.filter(user=adviser, role=Role.ADVISER).count() == 2
    assert Right.PLAN in rights_in(adviser, new_trial)
    assert Right.SHARE not in rights_in(adviser, new_trial)


@pytest.mark.parametrize("data", [{"name": "", "password": PASSWORD}, {"name": "Eva", "password": "short"}, {}])
def test_a_bad_name_or_password_lets_nobody_in_and_the_link_lives_on(network, farm, owner, data):
    secret = services.invite(label="Eva", role=Role.OWNER, by=owner, farm=farm)
    assert Client().post(f"/people/join/{secret}/", data).status_code == 422
    assert Invitation.objects.get().used_at is None


def test_a_name_is_one_persons(network, farm, owner):
    secret = services.invite(label="x", role=Role.OWNER, by=owner, farm=farm)
    answer = Client().post(f"/people/join/{secret}/", {"name": "OWNER", "password": PASSWORD})
    assert answer.status_code == 422
    assert "taken" in answer.content.decode()


def test_an_invitation_ends_after_a_week(network, farm, owner):
    secret = services.invite(label="x", role=Role.OWNER, by=owner, farm=farm)
    Invitation.objects.update(expires_at=timezone.now() - timedelta(seconds=1))
    assert Client().get(f"/people/join/{secret}/").status_code == 404


def test_an_owner_invites_to_own_farms_only(network, browser, farm):
    other = services.make_farm(name="Other farm", owner=User.objects.create_user("Dirk"))
    answer = browser.post("/people/invite/", {"label": "x", "role": "owner", "farm": other.pk})
    assert answer.status_code == 422
    assert not Invitation.objects.exists()


def test_a_role_can_be_withdrawn_but_not_the_last_owners(network, browser, farm, owner, new_trial):
    ben = User.objects.create_user("Ben")
    services.give_role(user=ben, role=Role.HELPER, trial=new_trial)
    browser.post("/people/withdraw/", {"user": ben.pk, "trial": new_trial.pk})
    assert not Share.objects.exists()
    page = browser.post("/people/withdraw/", {"user": owner.pk, "farm": farm.pk}, follow=True)
    assert "needs an owner" in page.content.decode()
    assert Membership.objects.filter(user=owner, farm=farm).exists()


def test_nobody_withdraws_on_a_farm_of_others(network, browser, farm):
    dirk = User.objects.create_user("Dirk")
    other = services.make_farm(name="Other farm", owner=dirk)
    assert browser.post("/people/withdraw/", {"user": dirk.pk, "farm": other.pk}).status_code == 404
    assert Membership.objects.filter(user=dirk).exists()


@pytest.mark.parametrize("number", ["", "x", "-1", "0", str(2**40), "1; drop"])
def test_odd_numbers_answer_not_found(network, browser, number):
    assert browser.post("/people/withdraw/", {"user": number, "farm": number}).status_code == 404


def test_a_driver_comes_in_for_one_day_and_one_trial(network, browser, new_trial, demo_trial):
    today = timezone.localdate()
    data = {"label": "driver", "valid_on": today.isoformat()}
    page = browser.post(f"/trials/{new_trial.slug}/day-links/", data, follow=True).content.decode()
    path = link_on(page, "people/day")
    driver = Client()
    assert driver.get(path).status_code == 200
    assert "day_link" not in driver.session, "looking at the link opens nothing"
    assert driver.post(path).headers["Location"] == "/phone/"
    request = driver.get("/people/login/").wsgi_request
    assert request_rights(request, new_trial) == {Right.RECORD_DAY}
    assert not request_rights(request, demo_trial)
    assert driver.session.get_expiry_age() <= 24 * 3600 + 60
    link = DayLink.objects.get()
    browser.post(f"/trials/{new_trial.slug}/day-links/{link.pk}/withdraw/")
    assert not request_rights(request, new_trial), "withdrawn works at once"


@pytest.mark.parametrize("days", [-1, 1])
def test_a_day_link_works_on_its_day_only(network, owner, new_trial, days):
    day = timezone.localdate() + timedelta(days=days)
    secret = services.make_day_link(trial=new_trial, label="x", valid_on=day, by=owner)
    assert Client().post(f"/people/day/{secret}/").status_code == 404


def test_an_invitation_leads_somewhere(owner):
    with pytest.raises(ValueError, match="leads to"):
        services.invite(label="x", role=Role.OWNER, by=owner)


def test_a_link_is_used_once_even_by_two_at_once(owner, farm):
    secret = services.invite(label="x", role=Role.OWNER, by=owner, farm=farm)
    invitation = services.open_invitation(secret)
    services.accept_invitation(invitation=invitation, name="Eva", password=PASSWORD)
    with pytest.raises(ValidationError, match="used already"):
        services.accept_invitation(invitation=invitation, name="Fred", password=PASSWORD)


@pytest.mark.parametrize("language", ["en-gb", "de"])
def test_the_day_of_a_link_is_filled_in_as_browsers_take_it(browser, new_trial, language):
    page = browser.get(f"/trials/{new_trial.slug}/day-links/", headers={"accept-language": language}).content.decode()
    assert f'value="{timezone.localdate().isoformat()}"' in page


def test_the_smallest_useful_role_comes_first(browser, farm, new_trial):
    page = browser.get("/people/").content.decode()
    assert '<option value="helper" selected>' in page
    assert "---------" not in page
    assert f'<option value="{new_trial.pk}" selected>' in page


def test_a_helper_is_not_asked_to_start_trials(network, new_trial):
    person = User.objects.create_user("Ben", password=PASSWORD)
    services.give_role(user=person, role=Role.HELPER, trial=new_trial)
    guest = Client()
    guest.force_login(person)
    page = guest.get("/").content.decode()
    assert "New trial" in page
    assert "I am planning" not in page


def test_a_forgotten_password_is_set_anew_by_a_link_that_works_once(network, browser, new_trial):
    person = User.objects.create_user("Ben", password=PASSWORD)
    services.give_role(user=person, role=Role.HELPER, trial=new_trial)
    elsewhere = Client()
    elsewhere.force_login(person)
    first = link_on(browser.post("/people/renew/", {"user": person.pk}, follow=True).content.decode(), "people/join")
    path = link_on(browser.post("/people/renew/", {"user": person.pk}, follow=True).content.decode(), "people/join")
    assert Client().get(first).status_code == 404, "a new link ends the earlier one"
    guest = Client()
    assert "Ben" in guest.get(path).content.decode()
    assert guest.post(path, {"name": "somebody else", "password": "short"}).status_code == 422
    assert guest.post(path, {"name": "somebody else", "password": "another long word"}).status_code == 302
    person.refresh_from_db()
    assert (person.username, person.check_password("another long word")) == ("Ben", True)
    assert rights_in(person, new_trial) == {Right.VIEW, Right.RECORD, Right.RECORD_DAY}, "no role has changed"
    assert elsewhere.get("/").status_code == 302, "sessions of the old password have ended"
    assert Client().get(path).status_code == 404


def test_nobody_gets_into_other_farms_by_a_new_password(network, browser, owner, farm, new_trial):
    """An adviser of two farms, an owner, the person at the machine, a stranger: none of them by this owner."""
    other = services.make_farm(name="Other farm", owner=User.objects.create_user("Dirk", password=PASSWORD))
    adviser = User.objects.create_user("Cleo", password=PASSWORD)
    for one in (farm, other):
        services.give_role(user=adviser, role=Role.ADVISER, farm=one)
    second = User.objects.create_user("Emma", password=PASSWORD)
    services.give_role(user=second, role=Role.OWNER, farm=farm)
    for person in (adviser, second, owner, User.objects.get(username="Dirk")):
        assert browser.post("/people/renew/", {"user": person.pk}).status_code == 404, person.username
    assert not Invitation.objects.exists()


def test_the_person_at_the_machine_may_set_a_new_password_there(browser, owner, settings):
    assert "New password for owner" in browser.get("/people/").content.decode()
    assert browser.post("/people/renew/", {"user": owner.pk}).status_code == 302
    settings.NETWORK = True
    assert browser.post("/people/renew/", {"user": owner.pk}).status_code == 404


def test_the_first_way_in_leads_to_what_was_there_before(network, farm, new_trial):
    """Who planned on this machine alone finds the same trials after phones were let in."""
    person = User.objects.get(username="owner")
    person.set_unusable_password()
    person.save()
    services.make_farm(name="Second farm", owner=person)
    way_in()
    secret = way_in()
    assert secret is not None
    assert Invitation.objects.count() == 1
    guest = Client()
    assert guest.post(f"/people/join/{secret}/", {"name": "owner", "password": PASSWORD}).status_code == 302
    assert User.objects.count() == 1
    page = guest.get("/").content.decode()
    assert "New trial" in page
    assert way_in() is None
