"""Task data by ISO 11783-10 (TASKDATA.XML, version 4.3): field, boundary, lines to drive, and what to sow where.

Every element, attribute and number written here is explained in docs/isoxml.md. No customer, farm, worker or device is
named: the file says where and how much, not for whom.
"""

from __future__ import annotations

from collections.abc import Sequence
from xml.etree import ElementTree

from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from evenground.adapters.export.layers import Feature, Layer, by_name, outer_rings
from evenground.adapters.export.xml_text import degrees, positions, short, xml_bytes
from evenground.basis.errors import InputError, problem
from evenground.basis.field import geodesic_area_m2
from evenground.basis.method import Method
from evenground.basis.plan import Plan

FILE_NAME = "TASKDATA/TASKDATA.XML"
# ISO 11783-11: setpoint count per area, 0.001 seeds/m2 a step; setpoint mass per area, 1 mg/m2 a step.
DDI_SEEDS_PER_AREA, SEEDS_PER_M2_STEP = "000B", 0.001
DDI_MASS_PER_AREA, MG_PER_M2_STEP = "0006", 1.0
MG_PER_M2_IN_KG_PER_HA = 100.0
# Treatment zone codes are one byte; 0 is the zone for all ground outside the strips.
MOST_ZONES = 254
_ELSEWHERE = "0"
_POLYGON = {"boundary": "1", "zone": "2", "obstacle": "6", "headland": "10"}
_LINE = {"outer": "1", "inner": "2", "guidance": "5"}
_POINT = {"mark": "1", "corner": "2", "entrance": "3", "a": "6", "b": "7"}
_AB_LINE, _NO_COPIES, _BOTH_ENDS = "1", "4", "1"


def task_data(plan: Plan, found: Sequence[Layer], *, version: str) -> bytes:
    """Return TASKDATA.XML: one task and one group of lines for each planter, and one group for the harvester.

    Parameters
    ----------
    plan : Plan
        Methods and machines.
    found : sequence of Layer
        Layers of the trial.
    version : str
        Program version.

    Raises
    ------
    InputError
        If a planter sows more strips than a task has zones for.

    Source: ISO 11783-10:2015 and its published schema files (version 4.3); ISO 11783-11 data dictionary.
    """
    _check(plan, found)
    root = ElementTree.Element(
        "ISO11783_TaskData",
        {
            "VersionMajor": "4",
            "VersionMinor": "3",
            "ManagementSoftwareManufacturer": "evenground",
            "ManagementSoftwareVersion": short(version),
            "DataTransferOrigin": "1",
        },
    )
    groups = _part_field(root, plan, found)
    for number, machine in enumerate(_planters(plan), start=1):
        _task(root, plan, found, machine, number, groups[machine])
    return xml_bytes(root)


def _planters(plan: Plan) -> tuple[str, ...]:
    return tuple(dict.fromkeys([plan.baseline.machine, *(method.machine for method in plan.methods)]))


def _check(plan: Plan, found: Sequence[Layer]) -> None:
    for machine in _planters(plan):
        letters = [m.letter for m in plan.methods if m.machine == machine]
        zones = sum(f.properties["method"] in letters for f in by_name(found, "strips").features)
        if zones > MOST_ZONES:
            text = f"the planter {machine} sows more strips than a task of ISO 11783-10 has zones for."
            raise InputError([problem(text, field="--to isoxml", given=zones, allowed=f"at most {MOST_ZONES}")])


def _part_field(root: ElementTree.Element, plan: Plan, found: Sequence[Layer]) -> dict[str, str]:
    """Write the field with its boundary, headland, marks and lines; return the group of lines of each machine."""
    ground = {str(f.properties["name"]): f.geometry for f in by_name(found, "field").features}
    area = round(geodesic_area_m2(ground["boundary"]))  # type: ignore[arg-type]
    field = ElementTree.SubElement(root, "PFD", {"A": "PFD1", "C": short(plan.trial.name), "D": str(area)})
    for name, shape in ground.items():
        _polygons(field, shape, _POLYGON[name], name)
    for layer in found:
        if layer.name == "headlands":
            _polygons(field, layer.features[0].geometry, _POLYGON["headland"], "headland")
    for layer in found:
        kind = {"marks": "mark", "entrance": "entrance"}.get(layer.name)
        if kind is not None:
            for feature in layer.features:
                _point(field, feature.geometry.coords[0], _POINT[kind], str(feature.properties["name"]))
    return _line_groups(field, by_name(found, "lines").features)


def _polygons(parent: ElementTree.Element, shape: BaseGeometry, kind: str, name: str) -> None:
    for part in outer_rings(shape):
        attributes = {"A": kind, "B": short(name), "C": str(round(geodesic_area_m2(part)))}
        area = ElementTree.SubElement(parent, "PLN", attributes)
        for ring, line in ((part.exterior, "outer"), *((r, "inner") for r in part.interiors)):
            string = ElementTree.SubElement(area, "LSG", {"A": _LINE[line]})
            for at in positions(Polygon(ring)):
                _point(string, at, _POINT["corner"])


def _point(parent: ElementTree.Element, at: Sequence[float], kind: str, name: str = "") -> None:
    attributes = {"A": kind, **({"B": short(name)} if name else {}), "C": degrees(at[1]), "D": degrees(at[0])}
    ElementTree.SubElement(parent, "PNT", attributes)


def _line_groups(field: ElementTree.Element, lines: Sequence[Feature]) -> dict[str, str]:
    groups: dict[str, str] = {}
    number = 0
    for machine in dict.fromkeys(str(f.properties["machine"]) for f in lines):
        groups[machine] = f"GGP{len(groups) + 1}"
        group = ElementTree.SubElement(field, "GGP", {"A": groups[machine], "B": short(machine or "weighed cuts")})
        for feature in lines:
            if feature.properties["machine"] == machine:
                number += 1
                _guidance(group, feature, number)
    return groups


def _guidance(group: ElementTree.Element, feature: Feature, number: int) -> None:
    line = ElementTree.SubElement(
        group,
        "GPN",
        {
            "A": f"GPN{number}",
            "B": short(str(feature.properties["name"])),
            "C": _AB_LINE,
            "E": _NO_COPIES,
            "F": _BOTH_ENDS,
        },
    )
    width_mm = round(1000 * float(feature.properties["width_m"]))
    string = ElementTree.SubElement(line, "LSG", {"A": _LINE["guidance"], "C": str(width_mm)})
    a, b = feature.geometry.coords[0], feature.geometry.coords[-1]
    _point(string, a, _POINT["a"], "A")
    _point(string, b, _POINT["b"], "B")


def _task(root: ElementTree.Element, plan: Plan, found: Sequence[Layer], machine: str, number: int, group: str) -> None:
    methods = {m.letter: m for m in plan.methods if m.machine == machine}
    task = ElementTree.SubElement(
        root,
        "TSK",
        {
            "A": f"TSK{number}",
            "B": short(f"sow {' and '.join(methods)}: {machine}"),
            "E": "PFD1",
            "G": "1",
            "H": _ELSEWHERE,
            "I": _ELSEWHERE,
        },
    )
    zone = ElementTree.SubElement(task, "TZN", {"A": _ELSEWHERE, "B": "outside the strips"})
    _rates(zone, next(iter(methods.values())))
    mine = [f for f in by_name(found, "strips").features if f.properties["method"] in methods]
    for code, feature in enumerate(mine, start=1):
        zone = ElementTree.SubElement(task, "TZN", {"A": str(code), "B": f"strip {feature.properties['name']}"})
        _polygons(zone, feature.geometry, _POLYGON["zone"], f"strip {feature.properties['name']}")
        _rates(zone, methods[str(feature.properties["method"])])
    ElementTree.SubElement(task, "GAN", {"A": group})


def _rates(zone: ElementTree.Element, method: Method) -> None:
    """Write the setpoints of a method: seeds per area always, starter where it is given."""
    seeds = round(method.seeds_per_m2 / SEEDS_PER_M2_STEP)
    ElementTree.SubElement(zone, "PDV", {"A": DDI_SEEDS_PER_AREA, "B": str(seeds)})
    mass = round(method.starter_kg_per_ha * MG_PER_M2_IN_KG_PER_HA / MG_PER_M2_STEP)
    ElementTree.SubElement(zone, "PDV", {"A": DDI_MASS_PER_AREA, "B": str(mass)})
