"""Trials at the edges of what is allowed: each form is written, and what is read again says the same."""

from __future__ import annotations

import io
import json
import re
import zipfile
from dataclasses import replace
from xml.etree import ElementTree

import pyogrio
import pypdf
import pytest
import shapely
from shapely.geometry import MultiPolygon, Polygon
from tests import small_trial
from tests.adapters.export import drawn_trial as trial

from evenground.adapters.hand_over import FORMATS, hand_over
from evenground.basis.field import Field
from evenground.basis.store import Stored

LONG = "Long field behind the barn, west of the Mühlbach «ß» 🌽 & <low> " + "x" * 18
CONTROL = "bell\x07 tab\x0b null\x00 end"


def named(text):
    plan = trial.plan()
    methods = tuple(m.model_copy(update={"name": f"{text[:70]} {m.letter}"}) for m in plan.methods)
    gate = plan.layout.entrance.model_copy(update={"text": (text * 10)[:600]})
    return plan.model_copy(
        update={
            "trial": plan.trial.model_copy(update={"name": text[:80]}),
            "methods": methods,
            "layout": plan.layout.model_copy(update={"entrance": gate}),
        }
    )


def no_harvester():
    plan = trial.plan()
    return plan.model_copy(update={"layout": plan.layout.model_copy(update={"harvester": None})})


def two_planters():
    plan = trial.plan()
    second = plan.machines[0].model_copy(update={"id": "second", "rows": 4, "row_spacing_m": 0.75})
    methods = (plan.methods[0], plan.methods[1].model_copy(update={"machine": "second"}))
    return plan.model_copy(update={"machines": (*plan.machines, second), "methods": methods})


def elsewhere(shape, lon, lat):
    """The same shape somewhere else on the globe, laid into a plane there."""
    there = type(trial.field().plane)(lon, lat)
    return there.to_degrees(trial.metres(shape))


def moved(lon, lat):
    field = trial.field()
    whole, blocked = elsewhere(field.boundary, lon, lat), elsewhere(field.obstacles, lon, lat)
    draw = trial.draw()
    strips = []
    for strip in draw.strips:
        rings = {k: elsewhere(Polygon(getattr(strip, k)), lon, lat).exterior.coords for k in ("outline", "cut_outline")}
        strips.append(strip.model_copy(update={k: tuple((x, y) for x, y in ring) for k, ring in rings.items()}))
    return Field(whole, blocked), draw.model_copy(update={"strips": tuple(strips)})


def two_parts():
    field = trial.field()
    other = elsewhere(shapely.transform(field.boundary, lambda at: at), field.plane.lon + 0.008, field.plane.lat)
    return replace(field, boundary=MultiPolygon([*field.boundary.geoms, *other.geoms]))


CASES = {
    "long name": lambda: (named(LONG), trial.field(), trial.draw()),
    "control characters": lambda: (named(CONTROL), trial.field(), trial.draw()),
    "no harvester": lambda: (no_harvester(), trial.field(), trial.draw()),
    "two planters": lambda: (two_planters(), trial.field(), trial.draw()),
    "six methods": lambda: (trial.plan("ABCDEF"), trial.field(), trial.draw(letters="ABCDEFAB")),
    "counted from the right": lambda: (trial.plan(fixed_edge_side="right"), trial.field(), trial.draw()),
    "no headland": lambda: (trial.plan(headland_m=0.0), trial.field(), trial.draw()),
    "two parts": lambda: (trial.plan(), two_parts(), trial.draw()),
    "south and west": lambda: (trial.plan(entrance=None), *moved(-64.2, -33.1)),
    "one strip": lambda: (
        trial.plan(),
        trial.field(),
        trial.draw().model_copy(update={"strips": trial.draw().strips[:1]}),
    ),
}


def files(name, form):
    plan, field, draw = CASES[name]()
    records = small_trial.Records()
    return hand_over(Stored(plan, field, (draw,), records, draw.plan_hash, "b" * 64), form, version="0.1.0"), draw


@pytest.mark.parametrize("form", ["geojson", "gpkg", "shp", "kml"])
@pytest.mark.parametrize("name", CASES)
def test_maps_hold_every_strip_where_it_is(tmp_path, name, form):
    made, draw = files(name, form)
    ((file, content),) = made.items()
    path = tmp_path / file
    path.write_bytes(content)
    meta, _, wkb, columns = pyogrio.raw.read(path, layer=None if form == "geojson" else "strips")
    rows = [dict(zip(meta["fields"], values, strict=True)) for values in zip(*columns, strict=True)]
    shapes = [shapely.from_wkb(g) for g, row in zip(wkb, rows, strict=True) if row.get("layer", "strips") == "strips"]
    assert len(shapes) == len(draw.strips)
    for shape, strip in zip(shapes, draw.strips, strict=True):
        areas = [p for p in shapely.get_parts(shape) if isinstance(p, Polygon)]
        # A centimetre in degrees of latitude, the longer of the two.
        assert shapely.hausdorff_distance(shapely.force_2d(areas[0]), Polygon(strip.outline)) < 0.01 / 111_320


@pytest.mark.parametrize("form", ["gpx", "isoxml", "kml"])
@pytest.mark.parametrize("name", CASES)
def test_xml_is_well_formed_and_short_where_it_must_be(name, form):
    made, draw = files(name, form)
    (content,) = made.values()
    root = ElementTree.fromstring(content)
    if form == "isoxml":
        zones = [z for z in root.iter("TZN") if z.find("PLN") is not None]
        assert len(zones) == len(draw.strips)
        assert all(len(e.attrib.get("B", "")) <= 32 for e in root.iter() if e.tag != "PDV")
        assert len(root.find("PFD").attrib["C"]) <= 32


@pytest.mark.parametrize("name", CASES)
def test_calendar_has_no_bare_control_character(name):
    made, _ = files(name, "ics")
    assert not re.search(rb"[\x00-\x08\x0b\x0c\x0e-\x1f]", made["trial.ics"])


@pytest.mark.parametrize("name", CASES)
def test_sheets_are_set(name):
    plan, _ = files(name, "plan")
    sign, _ = files(name, "sign")
    counts = {file: len(pypdf.PdfReader(io.BytesIO(content)).pages) for file, content in {**plan, **sign}.items()}
    assert counts["field-plan.pdf"] == 1
    assert counts["field-sign.pdf"] == 1


@pytest.mark.parametrize("name", CASES)
def test_the_pack_is_whole(name):
    made, _ = files(name, "pack")
    with zipfile.ZipFile(io.BytesIO(made["contractor-pack.zip"])) as archive:
        assert archive.testzip() is None
        assert len(pypdf.PdfReader(io.BytesIO(archive.read("drivers-card.pdf"))).pages) >= 3


def test_long_texts_are_cut_in_a_shapefile_and_whole_elsewhere(tmp_path):
    (tmp_path / "a.zip").write_bytes(files("long name", "shp")[0]["shapefiles.zip"])
    _, _, _, columns = pyogrio.raw.read(tmp_path / "a.zip", layer="entrance", columns=["text"])
    assert 240 < len(columns[0][0].encode()) <= 254
    whole = json.loads(files("long name", "geojson")[0]["trial.geojson"])
    texts = [f["properties"]["text"] for f in whole["features"] if f["properties"]["layer"] == "entrance"]
    assert len(texts[0]) == 600


def test_every_form_is_covered_here():
    assert set(FORMATS) == {"geojson", "gpkg", "shp", "kml", "gpx", "isoxml", "ics", "plan", "sign", "pack"}
