"""Invented fields and plans for the layout tests."""

from shapely import affinity
from shapely.geometry import MultiPolygon, Polygon, box
from tests import small_trial as small

from evenground.basis.field import Field, LocalPlane

PLANE = LocalPlane(9.5, 51.5)
PLANTER = {"id": "four", "kind": "planter", "rows": 8, "row_spacing_m": 0.75}
HARVESTER = {"id": "cutter", "kind": "forage_harvester", "rows": 6, "row_spacing_m": 0.75}
L_SHAPE = Polygon([(0, 0), (260, 0), (260, 110), (120, 110), (120, 300), (0, 300)])


def field(*parts, obstacles=()):
    """A field from shapes in metres."""
    whole = [p for part in parts for p in (part.geoms if part.geom_type == "MultiPolygon" else [part])]
    blocked = MultiPolygon([PLANE.to_degrees(shape) for shape in obstacles])
    return Field(MultiPolygon([PLANE.to_degrees(part) for part in whole]), blocked)


def rectangle(width, length, heading=0.0):
    """A rectangle whose long sides run at a heading."""
    return affinity.rotate(box(-width / 2, -length / 2, width / 2, length / 2), -heading, origin=(0, 0))


def plan(letters="AB", *, planters=(PLANTER,), harvester=HARVESTER, **layout):
    """An invented plan: 8-row planter and 6-row harvester, 18 m headland, strips of at least 60 m."""
    machines = [*planters, *([harvester] if harvester else [])]
    methods = [small.method(x, machine=planters[min(i, len(planters) - 1)]["id"]) for i, x in enumerate(letters)]
    for entry, machine in zip(methods, list(planters) + [planters[-1]] * len(methods), strict=False):
        entry["row_pattern"] = {"row_spacing_m": machine["row_spacing_m"]}
    wishes = {"harvester": harvester["id"]} if harvester else {}
    return small.plan(methods=methods, machines=machines, layout={"most_blocks": 60, **wishes, **layout})
