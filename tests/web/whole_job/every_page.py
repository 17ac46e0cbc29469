"""Every page an owner can open by address on the demo trial, found by walking the addresses themselves."""

from __future__ import annotations

import io
import json
import re
from collections.abc import Iterator
from http import HTTPStatus
from itertools import product

from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from PIL import Image

from evenground.basis.observations import RECORD_KINDS
from evenground.web.planning.parts import LISTS, PARTS
from evenground.web.trials.models import Door, HeldEntry, Trial
from tests.web.accounts.test_permission_matrix import ADDRESSES

ONE_KIND = ("loads",)
NO_PAGE_OF_ITS_OWN = {
    "accounts:accept": "needs a link that was sent; the page without one is asked for",
    "accounts:day": "needs a link that was sent; the page without one is asked for",
    "verdicts:report_progress": "stands only while a report is being set",
    "stands:photo_plants": "stands only after the scale was tapped; tests/web/screens opens it",
    "verdicts:report_html": "no script may run in it, so it is looked at from its text in a test of its own",
    "network:pair_with": "leads on at once",
}
"""Addresses that cannot be opened by themselves, each with its reason."""
FILES = ("layouts:hand_over", "verdicts:papers")
"""Addresses that hand out files, besides those whose ending says so."""
_ENDING = re.compile(r"\.\w{2,12}$")


def pages_of(trial: Trial, client: Client) -> Iterator[str]:
    """Yield the address of every page: what answers with HTML, and does not only take what is sent to it.

    Parameters
    ----------
    trial : Trial
        The demo trial; it gets one held entry and one photograph, so that their pages are there.
    client : Client
        Somebody who may open everything.
    """
    values = _values(trial, client)
    for name, parameters in ADDRESSES:
        if name in NO_PAGE_OF_ITS_OWN or name in FILES:
            continue
        choices = [_choices(name, p, values) for p in parameters]
        for chosen in product(*choices):
            address = reverse(name, kwargs=dict(zip(parameters, chosen, strict=True)))
            if _ENDING.search(address):
                continue
            answer = client.get(address)
            html = answer.headers.get("Content-Type", "").startswith("text/html")
            only_sent_to = answer.status_code == HTTPStatus.METHOD_NOT_ALLOWED
            if (
                only_sent_to
                or answer.status_code == HTTPStatus.FOUND
                or (answer.status_code == HTTPStatus.OK and not html)
            ):
                continue
            assert answer.status_code == HTTPStatus.OK, f"{name}: {address} answers {answer.status_code}"
            yield address


def _choices(name: str, parameter: str, values: dict[str, tuple[object, ...]]) -> tuple[object, ...]:
    if name == "records:add" and parameter == "kind":
        return tuple(RECORD_KINDS)
    if name == "planning:part" and parameter == "name":
        return tuple(p.name for p in PARTS)
    if name in ("planning:new_entry",) and parameter == "path":
        return tuple(LISTS)
    return values.get(f"{name} {parameter}", values.get(parameter, ()))


def _values(trial: Trial, client: Client) -> dict[str, tuple[object, ...]]:
    held = HeldEntry.objects.create(
        trial=trial,
        kind="loads",
        record_id="from-a-phone",
        text=json.dumps({"id": "from-a-phone", "strips": "99", "time": "2026-08-28T10:00"}),
        problems=[{"message": "there is no strip 99.", "given": "99", "allowed": "1 to 18"}],
    )
    picture = io.BytesIO()
    Image.new("RGB", (640, 480), (96, 120, 60)).save(picture, "JPEG")
    sent = SimpleUploadedFile("rows.jpg", picture.getvalue(), content_type="image/jpeg")
    token = client.post(f"/trials/{trial.slug}/stand/photo/", {"file": sent}).url.rstrip("/").rsplit("/", 1)[-1]
    return {
        "slug": (trial.slug,),
        "records:held number": (held.pk,),
        "number": (trial.farm.pk,),
        "planning:version number": (1,),
        "door": tuple(Door.values),
        "kind": ONE_KIND,
        "letter": ("A",),
        "path": ("methods",),
        "index": (1,),
        "token": (token,),
        "weighing_id": ("demo-weighing-01",),
    }
