"""Signing in and out: no hint which part was wrong, slower after failures, nobody locked out, sessions that end."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from evenground.web.accounts import services, slowing
from evenground.web.accounts.models import LoginFailure, PairingCode, User

PASSWORD = "a long enough word"
FAR = "192.168.178.44"


@pytest.fixture
def network(settings):
    """The app as phones see it: nobody is signed in by being here."""
    settings.NETWORK = True


@pytest.fixture
def person(db) -> User:
    return User.objects.create_user("Anna", password=PASSWORD)


def sign_in(client: Client, name: str, password: str, **more: str):
    return client.post("/people/login/", {"username": name, "password": password}, REMOTE_ADDR=FAR, **more)


def test_name_and_password_let_one_in_and_out(network, person):
    client = Client()
    assert sign_in(client, "Anna", PASSWORD).status_code == 302
    assert client.get("/people/").status_code == 200
    client.post("/people/logout/")
    assert client.get("/people/").status_code == 302


def test_a_wrong_name_and_a_wrong_password_look_the_same(network, person):
    pages = [sign_in(Client(), n, p).content.decode() for n, p in (("Anna", "wrong"), ("Nobody", "wrong"))]
    pages = [re.sub(r'value="[^"]*"', "", page) for page in pages]
    assert pages[0] == pages[1]
    assert "do not fit together" in pages[0]


def test_failures_make_the_next_try_wait_and_then_it_works(network, person):
    client = Client()
    for _ in range(slowing.FREE_TRIES):
        assert sign_in(client, "Anna", "wrong").status_code == 200
    answer = sign_in(client, "Anna", PASSWORD)
    assert answer.status_code == 429
    assert 0 < int(answer.headers["Retry-After"]) <= slowing.LONGEST_WAIT_S
    LoginFailure.objects.update(at=timezone.now() - timedelta(seconds=slowing.LONGEST_WAIT_S + 1))
    assert sign_in(client, "Anna", PASSWORD).status_code == 302
    assert not LoginFailure.objects.exists()


def test_the_wait_grows_and_never_passes_a_minute(person):
    waits = []
    for _ in range(14):
        slowing.failed("Anna", FAR)
        waits.append(round(slowing.wait_s("Anna", FAR)))
    assert waits == sorted(waits)
    assert waits[-1] == slowing.LONGEST_WAIT_S


def test_an_address_that_tries_many_names_has_to_wait(person):
    for i in range(slowing.FREE_TRIES_OF_ADDRESS):
        slowing.failed(f"name {i}", FAR)
    assert slowing.wait_s("Anna", FAR) > 0
    assert slowing.wait_s("Anna", "192.168.178.45") == 0


def test_the_person_at_this_machine_does_not_wait_for_what_others_did_to_their_name(person):
    for _ in range(9):
        slowing.failed("Anna", FAR)
    assert slowing.wait_s("Anna", "127.0.0.1") == 0


def test_the_session_is_a_new_one_after_signing_in(network, person):
    client = Client()
    client.get("/people/login/")
    session = client.session
    session["planted"] = "by somebody else"
    session.save()
    before = client.cookies["evenground"].value
    sign_in(client, "Anna", PASSWORD)
    assert client.cookies["evenground"].value != before


def test_a_changed_password_ends_the_other_sessions(network, person):
    here, phone = Client(), Client()
    here.force_login(person)
    phone.force_login(person)
    new = "another long enough word"
    data = {"old_password": PASSWORD, "new_password1": new, "new_password2": new}
    assert here.post("/people/password/", data).status_code == 302
    assert here.get("/people/").status_code == 200
    assert phone.get("/people/").status_code == 302


@pytest.mark.parametrize(
    "target", ["https://example.org/", "//example.org", "https:///example.org", "javascript:alert(1)"]
)
def test_signing_in_leads_to_no_other_host(network, person, target):
    answer = Client().post(f"/people/login/?next={target}", {"username": "Anna", "password": PASSWORD, "next": target})
    assert answer.status_code == 302
    assert answer.headers["Location"] == "/"


def test_on_a_machine_of_ones_own_nobody_signs_in(owner):
    assert Client().get("/people/").status_code == 200


def test_from_another_machine_one_does_even_then(owner):
    assert Client().get("/people/", REMOTE_ADDR=FAR).status_code == 302


def test_a_renamed_host_does_not_get_in(owner):
    """A page elsewhere whose name is made to point at 127.0.0.1 sends its own name as host."""
    assert Client().get("/people/", HTTP_HOST="evil.example").status_code == 400


def test_a_code_signs_one_phone_in_once(network, person):
    code = services.make_pairing_code(user=person)
    phone, other = Client(), Client()
    assert phone.get(f"/network/pair/{code}/").status_code == 200, "looking at the link spends nothing"
    typed = f"{code[:4].lower()}-{code[4:].lower()}"
    assert phone.post("/network/pair/", {"code": typed}).headers["Location"] == "/phone/"
    assert phone.get("/people/").status_code == 200
    assert other.post("/network/pair/", {"code": code}).status_code == 422


def test_a_code_lives_ten_minutes(network, person):
    code = services.make_pairing_code(user=person)
    PairingCode.objects.update(expires_at=timezone.now() - timedelta(seconds=1))
    assert Client().post("/network/pair/", {"code": code}).status_code == 422


def test_guessing_codes_gets_slow(network, person):
    answers = [Client().post("/network/pair/", {"code": f"AAAA{i:04d}"}, REMOTE_ADDR=FAR).status_code for i in range(6)]
    assert answers[:3] == [422] * 3
    assert set(answers[3:]) == {429}


def test_codes_and_links_are_not_kept_in_the_open(network, person, farm):
    from evenground.web.accounts.models import Invitation, Role

    code = services.make_pairing_code(user=person)
    secret = services.invite(label="x", role=Role.OWNER, by=person, farm=farm)
    kept = str(list(PairingCode.objects.values())) + str(list(Invitation.objects.values()))
    assert code not in kept
    assert secret not in kept
