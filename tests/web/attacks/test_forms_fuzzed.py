"""Every form of every page filled in by somebody who means ill: an answer in words, never a broken page."""

from __future__ import annotations

import io
from urllib.parse import quote

import pytest
from django.test import Client
from django.urls import reverse
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image

from evenground.web import uploads
from evenground.web.phone.files import app_files
from evenground.web.transfer import incoming
from evenground.web.trials.models import HeldEntry
from tests.stand.scene import Scene, draw
from tests.web.accounts.permission_rules import VALUES

from .forms_on_pages import address, forms_of, routes

ODD = (
    *("", " ", "0", "-1", "²", "١٢", "1e999", "nan", "inf", "-inf", "9" * 5000, "1" * 30, "0x10", "1,5", "1_0", "--"),
    *(
        "\x00",
        "a\x00b",
        "\u202e",
        "\ufeff",
        "😀" * 60,
        "<script>alert(1)</script>",
        "{{ 7*7 }}",
        "'\"; DROP TABLE x;--",
    ),
    *("../../etc/passwd", "//evil.example/", "/trials/x/", "=1+1", "A", "A+B", "7", "7+8", "1+1", "999999999999999999"),
    *("2026-13-45", "0001-01-01", "9999-12-31", "0001-01-01T00:00", "9999-12-31T23:59", "2026-05-04T10:00+99:00"),
    *("2026-05-04T10:00", "2026-05-04", "2026-05-04T10:00Z", "2026-W18", "24:00", "on", "true", "null", "[]", "{}"),
    *("[[[[[[", "[" * 3000, '{"type":"FeatureCollection","features":null}', "[1e999,1,1]", "[[9.1,51.6,3],[9.2]]"),
    *('{"type":"FeatureCollection","features":[{}]}', '{"type":"FeatureCollection","features":[1,null,"x"]}'),
    *(
        "52.1, 10.1\n52.2, 10.2\n52.1, 10.3",
        "91, 181\n91, 182\n92, 183",
        "id,time,who\n1,2",
        "a;b\n;;;;\n",
        "\r\n" * 50,
    ),
)
MARKS = {"x1": "100", "y1": "100", "x2": "600", "y2": "100", "distance_m": "1.0"}
MORE_NAMES = {
    "fields:save": {"features": []},
    "fields:walked": {"places": [], "store": []},
    "fields:choose": {"kept": [], "outline": ["0"], "position_checked": []},
    "stands:photo_stop": {n: [v] for n, v in MARKS.items()},
    "stands:photo_plants": {
        **{n: [v] for n, v in MARKS.items()},
        **{
            "accept": ["1"],
            "strip-1": ["7"],
            "unit-1": ["2"],
            "taken_at": ["2026-05-25T10:00"],
            "changes": ["add 1 1"],
        },
    },
    "layouts:wishes": {"headland_m": ["18"], "blocks": ["most"], "heading_deg": ["best"], "sprayer_width_m": []},
    "layouts:heading": {"heading": ["best", "17"]},
    "layouts:history": {"slurry": ["none", "direction"], "slurry-deg": ["90"], "heaps": ["drawn"], "next": []},
    "fields:tiles": {"thanks": [], "address": []},
    "sowing:log": {"method": ["A"], "machine": [], "number_style": [], "kept": [], "store": []},
    "sowing:sown": {"strip": ["1"], "event": ["sown"], "method": ["A"], "id": [], "speed_km_per_h": ["7"]},
    "planning:change_part": {"path": ["methods"], "add": [], "index": ["0"], "like": ["0"]},
    "network:pair_with": {"code": []},
    "transfer:begin_pieces": {"size": ["100", "4000000"]},
    "accounts:login": {"username": ["owner"], "password": [], "next": []},
    "accounts:withdraw": {"user": ["1"], "farm": ["1"], "trial": ["1"]},
}
"""Names that scripts send, or that a form shows only at times."""
WITHOUT_FIELDS = {
    *("network:make_code", "layouts:stop", "layouts:keep_draw", "layouts:stop_draw"),
    *("transfer:working", "transfer:add_piece"),
}
NOT_HERE = {"layouts:search", "accounts:logout", "phone:entries", "phone:photos"}
"""A search computes for seconds (its own tests stop it); signing out ends the test; phones have a test of their own."""
QUICK = settings(
    max_examples=8, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow], deadline=None
)
POSTS = [n for n in routes() if n not in NOT_HERE]
SLOW_PICTURES = {
    "stands:space",
    "sowing:card",
    "stands:sheet",
    "harvests:pack",
    "verdicts:report_pdf",
    "verdicts:papers",
}


def values(offered: list[str]):
    """What may stand in a field: what the form offers, what has harmed others, anything."""
    usual = [st.sampled_from(sorted(set(offered)))] * 2 if offered else []
    return st.one_of(*usual, st.sampled_from(ODD), st.text(max_size=30))


PLACES = {
    "planning:part": {"name": "money"},
    "planning:change_part": {"name": "layout"},
    "records:held": {"number": "held"},
    "harvests:join": {"weighing_id": "weighing"},
    "stands:photo_mark": {"token": "photo"},
    "stands:photo_picture": {"token": "photo"},
    "stands:photo_plants": {"token": "photo"},
    "stands:photo_overlay": {"token": "photo"},
    "stands:photo_stop": {"token": "photo"},
    "phone:file": {"version": "version", "name": "main.js"},
    "transfer:add_piece": {"token": "coming", "at": 0},
}
"""What stands for the parameters where the table of rights names nothing that is there; words are filled in."""
TESTED_ELSEWHERE = {"accounts:accept", "accounts:day", "verdicts:report_progress", "accounts:withdraw_day_link"}
"""Their addresses are secrets, or work under way: there is nothing behind an address that can be written here."""


@pytest.fixture(scope="module")
def photograph() -> bytes:
    """A photograph of rows from our own generator, drawn once."""
    out = io.BytesIO()
    Image.fromarray(draw(Scene(leaves=4, width_m=1.6, height_m=1.2, angle_deg=0.0), 3).pixels).save(out, "JPEG")
    return out.getvalue()


@pytest.fixture
def place_of(demo_trial, owner, photograph):
    """Return the address of a page, with something behind it."""
    held = HeldEntry.objects.create(
        trial=demo_trial, kind="samples", record_id="odd", content_hash="x", text='{"who":"x"}', problems=[]
    )
    there = {
        "held": held.pk,
        "photo": uploads.keep(photograph, "rows.jpg", demo_trial.pk),
        "weighing": demo_trial.records.filter(kind="weighings").first().record_id,
        "version": app_files().version,
        "coming": incoming.begin(owner.pk, 4_000_000, 8_000_000).token,
    }

    def place(name: str) -> str:
        more = {p: there.get(v, v) for p, v in PLACES.get(name, {}).items()}
        return address(name, demo_trial.slug, **{"kind": "samples", "number": demo_trial.farm_id, **more})

    if demo_trial.farm_id != 1:
        PLACES["planning:version"] = {"number": 1}
    return place


@pytest.fixture
def attacker(owner) -> Client:
    client = Client(raise_request_exception=True)  # what breaks a page is shown as it is
    client.force_login(owner)
    return client


@pytest.mark.parametrize("name", POSTS)
def test_no_form_breaks_a_page(attacker, demo_trial, place_of, name):
    target = place_of(name)
    first = attacker.post(target, MARKS if name == "stands:photo_plants" else {})
    if first.status_code == 405 or name in TESTED_ELSEWHERE:
        return
    pages = {target, f"/trials/{demo_trial.slug}/", *(target.rsplit("/", i)[0] + "/" for i in (2, 3))}
    names = {**MORE_NAMES.get(name, {}), **forms_of(attacker, sorted(pages)).get(target, {})}
    assert names or name in WITHOUT_FIELDS
    names = {n: offered for n, offered in names.items() if n != "csrfmiddlewaretoken"}

    @QUICK
    @given(st.data())
    def try_it(data) -> None:
        chosen = data.draw(st.lists(st.sampled_from(sorted(names)), unique=True)) if names else []
        said = {n: data.draw(st.lists(values(names[n]), min_size=1, max_size=2), n) for n in chosen}
        said |= data.draw(st.dictionaries(st.text(max_size=12), st.sampled_from(ODD), max_size=2), "more")
        answer = attacker.post(target, said)
        assert answer.status_code < 500, answer.status_code
        assert "Traceback" not in answer.getvalue().decode("utf-8", "replace")

    try_it()


@pytest.mark.parametrize("name", [n for n in routes() if n not in {*NOT_HERE, *SLOW_PICTURES}])
def test_no_question_breaks_a_page(attacker, place_of, name):
    target = place_of(name)
    first = attacker.get(target)
    first.getvalue()
    if first.status_code == 405:
        return
    keys = (
        "kind",
        "n",
        "all",
        "replaces",
        "next",
        "places",
        "code",
        "strip",
        "mode",
        "changes",
        "x1",
        "heading",
        "page",
    )

    @settings(QUICK, max_examples=2)
    @given(st.dictionaries(st.one_of(st.sampled_from(keys), st.text(max_size=8)), st.sampled_from(ODD), max_size=4))
    def try_it(question) -> None:
        answer = attacker.get(target, question)
        assert answer.status_code < 500
        answer.getvalue()

    try_it()


@pytest.mark.parametrize("name", [n for n, p in routes().items() if set(p) - {"slug"}])
def test_no_address_breaks_a_page(attacker, demo_trial, name):
    odd = (
        *(o for o in ODD if len(o) < 400),
        "%00",
        "%2e%2e%2f",
        "..",
        ".",
        "a" * 300,
        "%ff%fe",
        "trial.toml",
        "0" * 32,
    )
    parameters = [p for p in routes()[name] if p != "slug"]
    marks = {
        p: f"PLACE{i}" if p not in ("number", "index", "at") else str(77_000 + i) for i, p in enumerate(parameters)
    }
    shape = reverse(name, kwargs={**{p: {**VALUES, "slug": demo_trial.slug}[p] for p in routes()[name]}, **marks})

    @settings(QUICK, max_examples=5)
    @given(st.lists(st.one_of(st.sampled_from(odd), st.text(max_size=20)), min_size=2, max_size=2))
    def try_it(parts) -> None:
        target = shape
        for part, mark in zip(parts, marks.values(), strict=False):
            target = target.replace(mark, part if part.startswith("%") else quote(part, safe=""))
        for method in ("GET", "POST"):
            answer = attacker.generic(method, target)
            assert answer.status_code < 500, target
            answer.getvalue()

    try_it()
