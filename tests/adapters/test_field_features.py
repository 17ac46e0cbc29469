"""Kept edges, history and soil zones in the field file: read, written, refused."""

import json

import pytest
from shapely.geometry import LineString, MultiPolygon, box, mapping

from evenground.adapters.field_features import KINDS
from evenground.adapters.geojson import field_text, read_field
from evenground.basis.field import Field, KeptEdge, Trace, Zone

OUTLINE = box(9.0, 51.0, 9.003, 51.003)
LINE = LineString([(9.0, 51.0), (9.003, 51.0)])


def file(*features):
    whole = [({"role": "boundary"}, OUTLINE), *features]
    items = [{"type": "Feature", "properties": p, "geometry": mapping(s)} for p, s in whole]
    return json.dumps({"type": "FeatureCollection", "features": items}).encode()


def test_what_is_written_is_read_again():
    field = Field(
        MultiPolygon([OUTLINE]),
        MultiPolygon(),
        (KeptEdge(LINE, 8.5, "hedge"),),
        (Trace("drains", LINE), Trace("heaps", box(9.001, 51.001, 9.0011, 51.0011))),
        (Zone("clay", 0.3, box(9.0, 51.0, 9.001, 51.003)),),
    )
    assert read_field(field_text(field).encode()).field == field


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_of_history_is_read(kind):
    read = read_field(file(({"role": "history", "kind": kind}, LINE)))
    assert [trace.kind for trace in read.field.history] == [kind]


@pytest.mark.parametrize(
    ("properties", "shape", "words"),
    [
        ({"role": "history", "kind": "moon"}, LINE, "there is no such kind of history"),
        ({"role": "history"}, LINE, "there is no such kind of history"),
        ({"role": "kept_edge"}, LINE, "needs width_m"),
        ({"role": "kept_edge", "width_m": -3}, LINE, "needs width_m"),
        ({"role": "kept_edge", "width_m": "8 m"}, LINE, "needs width_m"),
        ({"role": "soil_zone", "value": True}, OUTLINE, "needs value"),
        ({"role": "soil_zone", "value": 1.0}, LINE, "wrong geometry"),
        ({"role": "kept_edge", "width_m": 5}, LineString([(900.0, 51.0), (9.0, 51.0)]), "no such place on the globe"),
    ],
)
def test_what_cannot_be_read_is_said_with_its_place(properties, shape, words):
    read = read_field(file((properties, shape)))
    assert read.field is None
    (fault,) = read.problems
    assert words in fault.message
    assert fault.field.startswith("features[1]")


def test_broken_positions_are_a_problem_and_no_crash():
    content = json.loads(file(({"role": "history", "kind": "drains"}, LINE)))
    for broken in (None, [], [[1]], [["a", "b"], [1, 2]], {"x": 1}, [[9.0, 51.0]]):
        content["features"][1]["geometry"]["coordinates"] = broken
        assert read_field(json.dumps(content).encode()).problems
