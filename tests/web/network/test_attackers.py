"""What an attacker tries first: other sites, frames, hosts, large bodies, stolen errors."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
from django.http import HttpRequest, HttpResponse
from django.test import Client, RequestFactory
from django.urls import path

from evenground.web.config.headers import SecurityHeaders

WEB = Path(__file__).parents[3] / "src/evenground/web"
# Names of XML vocabularies look like addresses and are none; an example address stands for the farmer's own tiles.
NAMESPACES = ("http://www.w3.org/", "https://tiles.example/")


def broken(_: HttpRequest) -> HttpResponse:
    raise RuntimeError("secret detail of the machine")


urlpatterns = [path("broken/", broken)]


def test_the_settings_are_ready_for_a_network(tmp_path):
    env = dict(os.environ, EVENGROUND_NETWORK_HOSTS="farm.local", EVENGROUND_DATA=str(tmp_path))
    env["DJANGO_SETTINGS_MODULE"] = "evenground.web.config.settings"
    env.pop("DJANGO_ALLOW_ASYNC_UNSAFE", None)  # the tests' own settings set it for the browser driver
    words = [sys.executable, "-m", "django", "check", "--deploy", "--fail-level", "WARNING"]
    done = subprocess.run(words, env=env, capture_output=True, text=True, timeout=60, check=False)
    assert done.returncode == 0, done.stderr
    assert "no issues" in done.stdout + done.stderr


def test_a_form_from_another_site_changes_nothing(owner):
    client = Client(enforce_csrf_checks=True)
    answer = client.post("/people/invite/", {"label": "x", "role": "owner"}, headers={"origin": "https://evil.example"})
    assert answer.status_code == 403


def test_no_page_can_be_framed_and_no_script_of_others_runs(owner):
    headers = Client().get("/people/").headers
    assert headers["X-Frame-Options"] == "DENY"
    policy = headers["Content-Security-Policy"]
    assert "frame-ancestors 'none'" in policy
    assert "default-src 'none'" in policy
    assert "unsafe-inline" not in policy
    assert "unsafe-eval" not in policy
    assert "http" not in policy
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["Referrer-Policy"] == "same-origin"


def test_a_tile_address_opens_images_of_that_place_only():
    answer = HttpResponse("x")
    answer.csp_tiles = "https://tiles.example"
    policy = SecurityHeaders(lambda _: answer)(RequestFactory().get("/")).headers["Content-Security-Policy"]
    assert "img-src 'self' data: blob: https://tiles.example;" in policy
    assert policy.count("https://") == 1


@pytest.mark.urls("tests.web.network.test_attackers")
def test_an_error_shows_no_inside(db):
    client = Client(raise_request_exception=False)
    answer = client.get("/broken/")
    assert answer.status_code == 500
    text = answer.content.decode()
    assert "secret detail" not in text
    assert "Traceback" not in text
    assert "went wrong" in text


def test_cookies_are_for_this_site_and_not_for_scripts(owner, settings):
    settings.NETWORK = True
    client = Client()
    client.post("/people/login/", {"username": "owner", "password": "a long enough word"})
    cookie = client.cookies["evenground"]
    assert cookie["httponly"]
    assert cookie["samesite"] == "Lax"


@pytest.mark.parametrize(
    "target",
    [
        "/static/../config/settings.py",
        "/static/%2e%2e/%2e%2e/secret-key",
        "/static/..%2f..%2fsecret-key",
        "/static//etc/passwd",
    ],
)
def test_static_files_stay_in_their_folder(owner, target):
    assert Client().get(target).status_code == 404


def test_a_form_with_thousands_of_fields_is_refused(owner):
    data = {f"f{i}": "1" for i in range(5000)}
    assert Client().post("/people/invite/", data).status_code == 400


def test_a_body_beyond_the_limit_is_refused(owner, settings):
    settings.DATA_UPLOAD_MAX_MEMORY_SIZE = 1000
    answer = Client().post("/people/invite/", "x=" + "a" * 2000, content_type="application/x-www-form-urlencoded")
    assert answer.status_code in (400, 413)


def own_files() -> list[Path]:
    return [p for p in WEB.rglob("*") if p.suffix in (".html", ".js", ".css", ".svg", ".webmanifest", ".json")]


@pytest.mark.parametrize("file", own_files(), ids=lambda p: str(p.relative_to(WEB)))
def test_no_page_asks_another_machine(file):
    text = file.read_text(encoding="utf-8")
    for place in NAMESPACES:
        text = text.replace(place, "")
    found = re.findall(r"(?:https?:)?//[a-z0-9-]+\.[a-z]{2,}[^\s\"<]*", text)
    assert not found


@pytest.mark.parametrize("file", [p for p in own_files() if p.suffix == ".html"], ids=lambda p: str(p.relative_to(WEB)))
def test_pages_have_no_script_or_style_inside(file):
    text = file.read_text(encoding="utf-8")
    assert not re.search(r"<style|\sstyle=|\son[a-z]+=|javascript:", text)
    for tag in re.findall(r"<script[^>]*>", text):
        assert "src=" in tag or 'type="application/json"' in tag
