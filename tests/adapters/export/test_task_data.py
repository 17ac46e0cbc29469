"""TASKDATA.XML against the published schema, and read again: same ground, same lines, same rates.

The table below is transcribed from ISO11783_TaskFile_V4-3.xsd and ISO11783_Common_V4-3.xsd (schema revision
2018-06-04): for each element used here its attributes with their form, which of them are required, and its children.
"""

from __future__ import annotations

import re
from importlib import import_module
from importlib.util import find_spec
from pathlib import Path

import pytest
import shapely
from shapely.geometry import LineString, Polygon
from tests.adapters.export import drawn_trial as trial

from evenground.adapters.export.layers import by_name, layers
from evenground.adapters.export.task_data import MOST_ZONES, task_data
from evenground.basis.errors import InputError

# lxml where it is installed: a reader that shares nothing with the writer; expat otherwise.
reader = import_module("lxml.etree" if find_spec("lxml") else "xml.etree.ElementTree")

PAGE = (Path(__file__).parents[3] / "docs/isoxml.md").read_text(encoding="utf-8")
TEXT, NUMBER, BYTE = r"(?s).{0,32}", r"\d{1,10}", r"\d{1,2}|1\d\d|2[0-4]\d|25[0-4]"
DEGREES = r"-?\d{1,3}(\.\d{1,9})?"


def ident(tag):
    return rf"(?=.{{4,14}}$){tag}-?[0-9]+"


# element: ({attribute: form}, required attributes, children)
SCHEMA = {
    "ISO11783_TaskData": (
        {
            "VersionMajor": "4",
            "VersionMinor": "[0-3]",
            "ManagementSoftwareManufacturer": TEXT,
            "ManagementSoftwareVersion": TEXT,
            "DataTransferOrigin": "[12]",
        },
        "VersionMajor VersionMinor ManagementSoftwareManufacturer ManagementSoftwareVersion DataTransferOrigin",
        "PFD TSK",
    ),
    "PFD": ({"A": ident("PFD"), "B": TEXT, "C": TEXT, "D": NUMBER}, "A C D", "PLN LSG PNT GGP"),
    "PLN": ({"A": "[1-9]|1[0-2]", "B": TEXT, "C": NUMBER, "D": BYTE, "E": ident("PLN")}, "A", "LSG"),
    "LSG": ({"A": "[1-9]", "B": TEXT, "C": NUMBER, "D": NUMBER, "E": BYTE, "F": ident("LSG")}, "A", "PNT"),
    "PNT": ({"A": "[1-9]|1[01]", "B": TEXT, "C": DEGREES, "D": DEGREES}, "A C D", ""),
    "GGP": ({"A": ident("GGP"), "B": TEXT}, "A", "GPN PLN"),
    "GPN": (
        {"A": ident("GPN"), "B": TEXT, "C": "[1-5]", "D": "[1-3]", "E": "[1-4]", "F": "[1-4]"},
        "A C",
        "LSG PLN",
    ),
    "TSK": (
        {"A": ident("TSK"), "B": TEXT, "E": ident("PFD"), "G": "[1-6]", "H": BYTE, "I": BYTE, "J": BYTE},
        "A G",
        "TZN GAN",
    ),
    "TZN": ({"A": BYTE, "B": TEXT, "C": BYTE}, "A", "PLN PDV"),
    "PDV": ({"A": "[0-9A-F]{4}", "B": r"-?\d{1,10}"}, "A B", "PDV"),
    "GAN": ({"A": ident("GGP")}, "A", "ASP GST"),
}


@pytest.fixture(scope="module")
def root():
    return reader.fromstring(task_data(trial.plan(), trial.all_layers(), version="0.1.0"))


def ring(line):
    return [(float(p.attrib["D"]), float(p.attrib["C"])) for p in line.findall("PNT")]


def polygon(element):
    rings = {kind: [ring(x) for x in element.findall("LSG") if x.attrib["A"] == kind] for kind in "12"}
    assert len(rings["1"]) == 1
    return Polygon(rings["1"][0], rings["2"])


def test_every_element_is_as_the_schema_says(root):
    for element in root.iter():
        attributes, required, children = SCHEMA[element.tag]
        assert set(required.split()) <= set(element.attrib), element.tag
        for name, value in element.attrib.items():
            assert re.fullmatch(attributes[name], value), (element.tag, name, value)
        assert {child.tag for child in element} <= set(children.split()), element.tag


def test_children_come_in_the_order_of_the_schema(root):
    for element in root.iter():
        order = SCHEMA[element.tag][2].split()
        places = [order.index(child.tag) for child in element]
        assert places == sorted(places), element.tag


def test_identifiers_are_unique_and_references_lead_somewhere(root):
    named = [e.attrib["A"] for e in root.iter() if e.tag in ("PFD", "GGP", "GPN", "TSK")]
    assert len(named) == len(set(named))
    for task in root.findall("TSK"):
        assert task.attrib["E"] in named
        assert task.find("GAN").attrib["A"] in named
        codes = [zone.attrib["A"] for zone in task.findall("TZN")]
        assert len(codes) == len(set(codes))
        assert {task.attrib["H"], task.attrib["I"]} <= set(codes)


def test_boundary_headland_and_obstacle_are_where_they_are(root):
    ground = {f.properties["name"]: f.geometry for f in by_name(trial.all_layers(), "field").features}
    wanted = {"1": ground["boundary"], "6": ground["obstacle"]}
    wanted["10"] = by_name(trial.all_layers(), "headlands").features[0].geometry
    for kind, shape in wanted.items():
        found = [polygon(p) for p in root.find("PFD").findall("PLN") if p.attrib["A"] == kind]
        trial.assert_same_place(shapely.MultiPolygon(found), shape)
    assert int(root.find("PFD").attrib["D"]) == round(trial.geodesic_area_m2(ground["boundary"]))


def test_zones_are_the_strips_of_the_planter_and_nothing_else(root):
    strips = {f.properties["name"]: f for f in by_name(trial.all_layers(), "strips").features}
    zones = {
        zone.attrib["B"].removeprefix("strip "): zone
        for task in root.findall("TSK")
        for zone in task.findall("TZN")
        if zone.find("PLN") is not None
    }
    assert set(zones) == set(strips)
    for name, zone in zones.items():
        assert len(zone.findall("PLN")) == 1
        assert zone.find("PLN").attrib["A"] == "2"
        trial.assert_same_place(polygon(zone.find("PLN")), strips[name].geometry)


def test_setpoints_are_in_the_units_of_the_data_dictionary(root):
    """8.5 seeds/m2 is 8500 steps of 0.001/m2 (DDI 11); 110 kg/ha is 11 g/m2 = 11,000 steps of 1 mg/m2 (DDI 6).

    Source: ISO 11783-11, entities 11 and 6; exact by definition.
    """
    for zone in root.iter("TZN"):
        assert {int(v.attrib["A"], 16): int(v.attrib["B"]) for v in zone.findall("PDV")} == {11: 8500, 6: 11_000}


def test_every_pass_has_its_own_line_from_a_to_b(root):
    lines = {f.properties["name"]: f for f in by_name(trial.all_layers(), "lines").features}
    found = {pattern.attrib["B"]: pattern for pattern in root.iter("GPN")}
    assert set(found) == set(lines)
    for name, pattern in found.items():
        points = pattern.find("LSG").findall("PNT")
        assert [p.attrib["A"] for p in points] == ["6", "7"]
        assert pattern.attrib["E"] == "4"
        trial.assert_same_place(LineString(ring(pattern.find("LSG"))), lines[name].geometry)
        assert int(pattern.find("LSG").attrib["C"]) == pytest.approx(1000 * lines[name].properties["width_m"], abs=0.5)


def test_nobody_is_named(root):
    text = reader.tostring(root, encoding="unicode")
    assert {e.tag for e in root.iter()}.isdisjoint({"CTR", "FRM", "WKR", "DVC"})
    assert "000 000" not in text


def test_two_planters_have_a_task_each():
    plan = trial.plan()
    other = plan.machines[0].model_copy(update={"id": "second planter"})
    methods = (plan.methods[0], plan.methods[1].model_copy(update={"machine": "second planter"}))
    plan = plan.model_copy(update={"machines": (*plan.machines, other), "methods": methods})
    root = reader.fromstring(task_data(plan, layers(plan, trial.field(), trial.draw(plan)), version="0.1.0"))
    names = [[z.attrib["B"][-1] for z in task.findall("TZN")[1:]] for task in root.findall("TSK")]
    assert [set(one) for one in names] == [{"A"}, {"B"}]
    assert len(root.find("PFD").findall("GGP")) == 3


def test_more_strips_than_zones_is_said():
    strips = by_name(trial.all_layers(), "strips")
    many = type(strips)("strips", "Polygon", strips.features * (MOST_ZONES // len(strips.features) + 1))
    rest = tuple(layer for layer in trial.all_layers() if layer.name != "strips")
    with pytest.raises(InputError, match="at most 254"):
        task_data(trial.plan(), (*rest, many), version="0.1.0")


def test_the_page_explains_every_element_attribute_and_number(root):
    for element in root.iter():
        rows = re.search(rf"^\| `{element.tag}` .*?(?=^\| `[A-Z]|^$)", PAGE, re.DOTALL | re.MULTILINE)
        assert rows, element.tag
        for name in element.attrib:
            assert f"`{name}`" in rows[0], (element.tag, name)
    assert "DDI 11" in PAGE
    assert "DDI 6" in PAGE
