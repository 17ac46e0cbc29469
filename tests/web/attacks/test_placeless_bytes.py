"""Handed over without places: no byte of it looks like where the field lies, in no file of no archive."""

from __future__ import annotations

import io
import json
import re
import zipfile

import numpy as np
import pytest

from evenground.basis.observations import RECORD_KINDS
from evenground.web.trials.store import DatabaseStore

KM_PER_DEGREE = 111.2
NEAR_KM = 30.0
NUMBER = re.compile(rb"-?\d{1,3}[.,]\d{2,}")


def numbers_near(data: bytes, place: float) -> list[bytes]:
    """List what is written like degrees within some kilometres of a place, whichever sign divides the decimals."""
    reach = NEAR_KM / KM_PER_DEGREE
    return [n for n in NUMBER.findall(data) if abs(float(n.replace(b",", b".")) - place) < reach]


def places_digits(number: bytes) -> bool:
    """Say whether it is written finer than a kilometre: a yield or a width may lie near a longitude by chance."""
    # A comma is mostly what parts two cells; five digits behind it would be a place written with a decimal comma.
    return len(re.split(rb"[.,]", number)[1]) >= (3 if b"." in number else 5)


def members(name: str, data: bytes):
    """Give a file and, of an archive, everything in it, however deep."""
    yield name, data
    if data.startswith(b"PK\x03\x04"):
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            for inner in archive.namelist():
                yield from members(f"{name}/{inner}", archive.read(inner))


@pytest.fixture
def placed(demo_trial, owner):
    """The demo with places in everything that can have one; return the trial, longitude and latitude."""
    store = DatabaseStore(demo_trial, owner)
    middle = store.load().field.boundary.centroid
    moved = []
    for kind in RECORD_KINDS:
        for record in getattr(store.records(), kind)[:2]:
            fields = type(record).model_fields
            if "lon" in fields and record.replaces is None:
                said = {"id": f"{record.id}-here", "lon": round(middle.x, 6), "lat": round(middle.y, 6)}
                moved.append(record.model_copy(update=said))
    assert len(moved) > 4
    places = {r.kind for r in moved} - {"loads", "weighings", "weather"}
    store.append_records([r for r in moved if r.kind in places])
    return demo_trial, middle.x, middle.y, places


def test_the_search_finds_places_where_they_are(browser, placed):
    trial, lon, lat, places = placed
    packed = browser.get(f"/trials/{trial.slug}/move/trial.zip").getvalue()
    found = {n for n, d in members("trial.zip", packed) if numbers_near(d, lon) and numbers_near(d, lat)}
    assert {n.rsplit("/", 1)[1] for n in found} >= {"field.geojson", "strips.geojson", *(f"{k}.csv" for k in places)}


def test_an_archive_without_places_has_none(browser, placed):
    trial, lon, lat, _places = placed
    packed = browser.get(f"/trials/{trial.slug}/move/trial.zip", {"places": "0"}).getvalue()
    every = dict(members("trial.zip", packed))
    assert len(every) > 5
    farm = DatabaseStore(trial).plan().trial.farm
    for name, data in every.items():
        if data.startswith(b"PK"):
            continue  # packed bytes; its members are looked at
        exact = [n for place in (lon, lat) for n in numbers_near(data, place) if places_digits(n)]
        assert not exact, f"{name}: {exact[:5]}"
        assert not farm or farm.encode() not in data, name
        if name.endswith(".geojson"):
            rings = [f["geometry"]["coordinates"] for f in json.loads(data)["features"]]
            degrees = np.array([p for ring in rings for part in ring for p in part])
            assert len(degrees) > 50
            assert np.abs(degrees).max() < 1.0, "strips lie in the sea off Africa"


def test_a_table_without_places_has_none(browser, placed):
    trial, lon, lat, _places = placed
    for kind in RECORD_KINDS:
        data = browser.get(f"/trials/{trial.slug}/move/{kind}.csv", {"places": "0"}).getvalue()
        near = [n for place in (lon, lat) for n in numbers_near(data, place) if places_digits(n)]
        assert not near, kind
