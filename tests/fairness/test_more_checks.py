"""Seed and driver, depth and joints, ground, water, damage, cutting height and the order of weighing."""

from datetime import UTC, timedelta

import pytest
from shapely.geometry import MultiPolygon, Polygon, box
from tests import small_trial as small

from evenground.basis.field import Field, Trace, Zone
from evenground.basis.harvest_records import CutArea, Stubble
from evenground.basis.quality_records import Damage
from evenground.basis.stand_records import Depth, MeasuredJoint
from evenground.basis.strip import AppliedLimit
from evenground.fairness.checks import fairness, without_size
from evenground.fairness.sizes import cutting_height_range, share_range, water_range
from evenground.harvest.strips import harvest

DRAW = small.draw()
WHOLE = small.whole_season(DRAW)
METHOD = {s.strip: s.method for s in DRAW.strips}


def all_of(plan=None, draw=DRAW, field=None, **kinds):
    plan, records = plan or small.plan(), small.replaced(WHOLE, **kinds)
    return fairness(plan, draw, records, harvest(plan, draw, records), field)


def one(item, **given):
    (found,) = [c for c in all_of(**given) if c.item == item]
    return found


def each(make, **by_method):
    """One record a strip, with the values of its method."""
    return [make(n, {k: v[m] if isinstance(v, dict) else v for k, v in by_method.items()}) for n, m in METHOD.items()]


def stubble(n, values):
    return Stubble(id=f"T{n}", time=small.AUTUMN, strips=str(n), **values)


def dug(n, values):
    return Depth(id=f"P{n}", time=small.DAY, strips=str(n), **values)


def cut(n, values):
    return CutArea(id=f"A{n}", time=small.AUTUMN, strips=str(n), rows=6, length_m=300.0, **values)


def hurt(strips, **values):
    return Damage(id=f"H{strips}", time=small.AUTUMN, strips=strips, cause="boar", **values)


def watered(n, mm):
    return small.event(n, "irrigated", water_mm=mm)


def agreements(*pairs):
    said = [{"who": who, "role": "driver", "methods": list(letters), "agrees": True} for who, letters in pairs]
    return small.plan(people={"agreements": said})


def history(**answers):
    return small.plan(history=answers)


def wheels(four, pairs):
    """Rows in wheel tracks of both planters."""
    rows = {"four": four, "pairs": pairs}
    return small.plan(machines=[
        {"id": i, "kind": "planter", "rows": 4, "row_spacing_m": 0.75, "wheel_rows": w} for i, w in rows.items()
    ])  # fmt: skip


def label(name="hybrid", **words):
    """Sowing entries with something that stands on a label, by method."""
    events = [e for e in WHOLE.events if e.event != "sown"]
    return [*events, *(small.event(n, "sown", **{name: words.get(m, "")}) for n, m in METHOD.items())]


def crop(strip, what, event="previous_crop", n=1):
    return small.event(strip, event, n, what=what)


def done(event, **words):
    """An entry for each strip of the methods named, with what was used."""
    return [*WHOLE.events, *(crop(n, words[m], event) for n, m in METHOD.items() if m in words)]


NONE_ELSE = dict.fromkeys(("spreader", "tramlines", "irrigation", "drains", "trenches", "heaps", "hedges"), "none")
LOTS = small.plan(trial={"name": "t", "season": 2025, "seed_lots": 2})
ZONES = {"zones": [{"zone": "sand", "strips": [n for n, m in METHOD.items() if m == "B"][:4], "texture": "sand"}]}
EVEN_ZONES = {"zones": [{"zone": "sand", "strips": [1, 2, 3, 4], "texture": "sand"}]}

# item, what is known, state, words, sign of the size (0 for none)
TABLE = [
    ("hybrid", {}, "alike", "one lot", 0),
    ("hybrid", {"plan": LOTS}, "unknown", "2 lots", 0),
    ("hybrid", {"plan": LOTS, "events": label(A="Alto", B="alto ")}, "alike", "B alto; A alto", 0),
    ("hybrid", {"events": label(A="Alto", B="Basso")}, "differs", "B basso; A alto", 0),
    ("dressing", {}, "alike", "one lot", 0),
    ("dressing", {"plan": LOTS}, "unknown", "2 lots", 0),
    ("dressing", {"plan": LOTS, "events": label("dressing", A="red")}, "unknown", "not written down", 0),
    ("dressing", {"events": label("dressing", A="red", B="none")}, "differs", "B none; A red", 0),
    ("driver", {}, "unknown", "no driver", 0),
    ("driver", {"plan": agreements(("Driver one", "AB"))}, "alike", "Driver one", 0),
    ("driver", {"plan": agreements(("Driver one", ""))}, "alike", "Driver one", 0),
    ("driver", {"plan": agreements(("Driver one", "A"), ("Driver two", "B"))}, "differs", "A Driver one", 0),
    ("depth", {"depths": each(dug, depth_cm={"A": 5.0, "B": 6.2})}, "differs", "B 1.2 cm deeper than A as dug up", 0),
    ("depth", {"depths": each(dug, depth_cm={"A": 5.0, "B": 5.4})}, "alike", "as dug up", 0),
    ("depth", {}, "alike", "in the plan", 0),
    ("row spacing", {}, "alike", "0.75", 0),
    ("joints", {}, "unknown", "not measured", 0),
    ("joints", {"cut_areas": each(cut, joints={"A": (0.75,), "B": (0.75,)})}, "alike", "B 75 cm, A 75 cm", 0),
    ("joints", {"cut_areas": each(cut, joints={"A": (0.75,), "B": (0.95,)})}, "differs", "takes it into account", 0),
    ("wheel-track rows", {"plan": wheels((2, 3), ())}, "unknown", "not said", 0),
    ("wheel-track rows", {"plan": wheels((2, 3), (1, 4))}, "alike", "B 50 %, A 50 %", 0),
    ("wheel-track rows", {"plan": wheels((2, 3), (2,))}, "differs", "B 25 %, A 50 %", 0),
    ("tillage", {"plan": history(ploughing=90.0)}, "alike", "every method crosses", 0),
    ("tillage", {"plan": history(ploughing=5.0)}, "unknown", "along the strips", 0),
    ("tillage", {"plan": history(ploughing="don't know")}, "unknown", "not known", 0),
    ("tillage", {"events": done("tilled", A="plough", B="plough")}, "alike", "B plough; A plough", 0),
    ("tillage", {"events": done("tilled", A="plough", B="strips")}, "differs", "B strips; A plough", 0),
    ("tillage", {"events": done("tilled", A="plough")}, "unknown", "not asked", 0),
    ("previous crop", {"plan": history(borders="none")}, "alike", "none", 0),
    ("previous crop", {"events": done("previous_crop", A="rye", B="rye")}, "alike", "rye", 0),
    ("previous crop", {"events": [*WHOLE.events, *(crop(n, "rye" if n < 9 else "beet") for n in METHOD)]}, "alike",
     "beet (4 strips), rye (4 strips)", 0),
    ("previous crop", {"events": done("previous_crop", A="rye", B="beet")}, "differs", "B beet; A rye", 0),
    ("hoeing", {}, "unknown", "none recorded", 0),
    ("hoeing", {"events": done("hoed", A="none", B="None")}, "alike", "as not done", 0),
    ("hoeing", {"events": done("hoed", A="none")}, "unknown", "none recorded", 0),
    ("hoeing", {"events": done("hoed", A="none", B="hoe")}, "differs", "B 8, A 0 strips", 0),
    ("hoeing", {"events": done("hoed", A="", B="")}, "alike", "B 8, A 8 strips", 0),
    ("hoeing", {"events": done("hoed", B="")}, "differs", "B 8, A 0 strips", 0),
    ("hoeing", {"events": [*done("hoed", A="", B=""), *(crop(n, "", "hoed", 2) for n, m in METHOD.items()
                                                        if m == "B")]},
     "differs", "B 1.0 passes more than A", 0),
    ("spraying", {"events": done("sprayed", A="one", B="two")}, "differs", "B two, A one", 0),
    ("spraying", {"events": done("hoed", B="")}, "unknown", "none recorded", 0),
    ("slurry bouts", {"plan": history(slurry="none")}, "alike", "none", 0),
    ("traces in the ground", {}, "unknown", "7 questions not asked", 0),
    ("traces in the ground", {"plan": history(**NONE_ELSE)}, "alike", "drains: none", 0),
    ("traces in the ground", {"plan": history(**{**NONE_ELSE, "drains": "don't know"})}, "unknown", "drains", 0),
    ("soil zones", {}, "unknown", "no soil zones", 0),
    ("soil zones", {"plan": small.plan(soil=ZONES)}, "differs", "sand: B 50 % more", 0),
    ("soil zones", {"plan": small.plan(soil=EVEN_ZONES)}, "alike", "same shares", 0),
    ("tramlines", {}, "unknown", "sprayer_width_m", 0),
    ("irrigation", {}, "unknown", "none recorded", 0),
    ("irrigation", {"events": [*WHOLE.events, *(watered(n, 20.0) for n in METHOD)]}, "alike", "within 0.1 mm", 0),
    (
        "irrigation", {"events": [*WHOLE.events, *(watered(n, 20.0) for n, m in METHOD.items() if m == "B")]},
        "differs", "B 20.0 mm more water than A", 1,
    ),
    ("damage", {}, "unknown", "none recorded", 0),
    ("damage", {"damage": [hurt("2", length_m=30.0)]}, "differs", "B 1, A 0 strips", -1),
    ("damage", {"damage": [hurt("1", length_m=30.0)]}, "differs", "B 0, A 1 strips", 1),
    ("damage", {"damage": [hurt("1+2", length_m=30.0, by_method="no")]}, "alike", "A 1.2 %", 0),
    ("damage", {"damage": [hurt("2")]}, "differs", "may come from the method", 0),
    ("cutting height", {}, "unknown", "not measured", 0),
    ("cutting height", {"stubble": each(stubble, height_cm={"A": 20.0, "B": 21.0})}, "alike", "1.0 cm", 0),
    ("cutting height", {"stubble": each(stubble, height_cm={"A": 20.0, "B": 30.0})}, "differs", "10.0 cm higher", -1),
    ("cutting height", {"stubble": each(stubble, height_cm={"A": 30.0, "B": 20.0})}, "differs", "10.0 cm lower", 1),
    ("order of weighing", {}, "unknown", "do not tell", 0),
]  # fmt: skip


@pytest.mark.parametrize(("item", "known", "state", "words", "sign"), TABLE)
def test_each_of_them(item, known, state, words, sign):
    got = one(item, **known)
    assert got.state == state, got
    assert words in got.found
    low, high = got.bias_t_per_ha or (0.0, 0.0)
    assert (low < 0, high > 0) == (sign < 0, sign > 0)


def weighed(minutes_of):
    return [r.model_copy(update={"time": r.time + timedelta(minutes=minutes_of(r.strips[0]))}) for r in WHOLE.loads]


ORDERS = [
    (lambda n: n, "alike", "came first in 4"),  # along the field: as drawn
    (lambda n: n + (30 if METHOD[n] == "B" else 0), "differs", "B came first in 0 and A in 8 blocks"),
    (lambda n: n - (30 if METHOD[n] == "B" and n > 2 else 0), "differs", "B came first in 7"),  # 7 to 1: 6 >= 5.7
    (lambda n: n - (30 if METHOD[n] == "B" and n not in (1, 2, 7, 8) else 0), "alike", "B came first in 6"),
]


@pytest.mark.parametrize(("minutes_of", "state", "words"), ORDERS)
def test_the_order_of_weighing(minutes_of, state, words):
    got = one("order of weighing", loads=weighed(minutes_of))
    assert got.state == state, got.found
    assert words in got.found


def test_clocks_with_and_without_a_time_zone_are_read_as_shown():
    loads = weighed(lambda n: n)
    zoned = [r.model_copy(update={"time": r.time.replace(tzinfo=UTC)}) if i % 2 else r for i, r in enumerate(loads)]
    plan, came_off = small.plan(), harvest(small.plan(), DRAW, WHOLE)
    mixed = fairness(plan, DRAW, small.replaced(WHOLE, loads=zoned), came_off)
    assert next(c for c in mixed if c.item == "order of weighing").found == one("order of weighing", loads=loads).found


def test_joints_that_no_area_knows_of_have_a_size():
    # joints 20 cm too wide in B, the cut measured in both by length and width: it hides 20 cm of 4.7 m
    wide = each(cut, joints={"A": (0.75,), "B": (0.95,)})
    plan, records = small.plan(), small.replaced(WHOLE, cut_areas=wide)
    came_off = harvest(plan, DRAW, WHOLE)  # weighed on the drawn area
    (got,) = [c for c in fairness(plan, DRAW, records, came_off) if c.item == "joints"]
    level = [s.outcome for s in came_off.strips if s.method == "A"]
    assert got.state == "differs"
    assert got.source == "geometry of the weighed cut"
    assert got.bias_t_per_ha == pytest.approx((0.0, 0.2 / 4.5 * sum(level) / len(level)), rel=0.01)


def seen_after_sowing(n, values):
    return MeasuredJoint(id=f"J{n}", time=small.DAY, strips=str(n), **values)


def test_joints_measured_after_sowing_are_read_as_well():
    # planters of few rows: a joint lies among the rows that are cut, and the harvest makes the cut wider with it
    machines = [{"id": n, "kind": "planter", "rows": 2, "row_spacing_m": 0.75} for n in ("four", "pairs")]
    plan = small.plan(machines=machines)
    got = one("joints", plan=plan, joints=each(seen_after_sowing, joint_m={"A": 0.75, "B": 0.90}))
    assert got.state == "differs"
    assert got.found == "B 90 cm, A 75 cm on average; the weighed area takes it into account"
    assert got.bias_t_per_ha is None
    alike = one("joints", plan=plan, joints=each(seen_after_sowing, joint_m={"A": 0.75, "B": 0.75}))
    assert (alike.state, alike.found) == (
        "alike",
        "B 75 cm, A 75 cm on average; the weighed area takes it into account",
    )
    only_b = [r for r in each(seen_after_sowing, joint_m=0.9) if METHOD[r.strips[0]] == "B"]
    assert one("joints", plan=plan, joints=only_b).state == "unknown"


def test_bouts_of_a_spreader_are_named_beside_the_tramlines():
    def spread(**said):
        return small.plan(layout={"spreader_width_m": 12.0, "first_spreader_bout_m": 3.0, **said})

    def limited(on):
        weights = tuple((float(s.strip in on),) for s in DRAW.strips)
        limit = AppliedLimit(name="tramline", applied=True, bound=1.0, weights=weights)
        return DRAW.model_copy(update={"limits": (limit,)})

    # Bouts as wide as a block have their middle in strips 1, 3, ... and meet in strips 2, 4, ...; the draw dealt
    # both out to A and B, which the counts tell.
    odd = [METHOD[n] for n in range(1, 17, 2)]
    counts = f"wheel tracks A {odd.count('A')}, B {odd.count('B')}, joints between bouts A {odd.count('B')}"
    assert counts in one("tramlines", plan=spread()).found
    assert "none were dealt out in the draw" in one("tramlines", plan=spread()).found
    assert one("tramlines", plan=spread(), draw=limited([1, 2])).state == "alike"
    # Slantwise nothing can be shared out, even where tramlines are.
    slant = one("tramlines", plan=spread(spreader_heading_deg=8.0), draw=limited([1, 2]))
    assert (slant.state, "slantwise" in slant.found) == ("differs", True)
    across = one("tramlines", plan=spread(spreader_heading_deg=90.0), draw=limited([1, 2]))
    assert (across.state, "every method crosses them" in across.found) == ("alike", True)


def test_tramlines_as_dealt_out_in_the_draw():
    def limited(strips):
        weights = tuple((float(s.strip in strips),) for s in DRAW.strips)
        limit = AppliedLimit(name="tramline", applied=True, bound=1.0, weights=weights)
        return DRAW.model_copy(update={"limits": (limit,)})

    b = [n for n, m in METHOD.items() if m == "B"]
    assert one("tramlines", draw=limited(b[:2])).state == "differs"
    assert "B 2, A 0 tramlines" in one("tramlines", draw=limited(b[:2])).found
    assert one("tramlines", draw=limited([1, 2])).state == "alike"


def test_a_drawn_field_answers_for_zones_and_traces():
    outline = [Polygon(s.cut_outline) for s in DRAW.strips]
    whole = box(8.99, 50.99, 9.02, 51.01)
    of_b = MultiPolygon([p for p, s in zip(outline, DRAW.strips, strict=True) if s.method == "B"])
    field = Field(
        MultiPolygon([whole]), MultiPolygon(), history=(Trace("borders", of_b),), zones=(Zone("soil", 30.0, of_b),)
    )
    zones, before = one("soil zones", field=field), one("previous crop", field=field)
    assert zones.state == "differs"
    assert "soil 30: B 100 % more" in zones.found
    assert before.state == "differs"
    alike = Field(MultiPolygon([whole]), MultiPolygon(), zones=(Zone("soil", 30.0, whole),))
    assert one("soil zones", field=alike).state == "alike"


def test_cutting_height_sizes_are_the_published_ones():
    # Penn State Extension (2023), eleven studies: 12.5 inches higher, 8.1 to 7.5 t/ac; Wisconsin (1998): 12 in, -15 %.
    assert cutting_height_range(31.75, 8.1) == pytest.approx((-8.1 * 0.15 * 31.75 / 30.48, 7.5 - 8.1))
    assert cutting_height_range(30.48, 1.0)[0] == pytest.approx(-0.15)
    assert cutting_height_range(-10.0, 15.0) == pytest.approx(tuple(-v for v in cutting_height_range(10.0, 15.0)[::-1]))


def test_other_sizes_are_plain_arithmetic():
    assert water_range(-10.0, "silage") == pytest.approx((-0.4, 0.0))
    assert water_range(10.0, "grain") == pytest.approx((0.0, 0.25))
    assert share_range(0.02, 15.0) == pytest.approx((0.0, 0.3))


def test_lost_crop_is_its_share_of_the_cuts():
    # 30 m of 8 cuts of 300 m, all of it lost: 1.25 % of the ground of B
    got = one("damage", damage=[hurt("2", length_m=30.0)])
    baseline = [s.outcome for s in harvest(small.plan(), DRAW, WHOLE).strips if s.method == "A"]
    assert got.bias_t_per_ha[0] == pytest.approx(-0.0125 * sum(baseline) / len(baseline))


def test_what_differs_without_a_size_is_listed():
    found = all_of(plan=agreements(("Driver one", "A"), ("Driver two", "B")), damage=[hurt("2")])
    items = {c.item for c in without_size(found)}
    assert "damage" in items
    assert "edge strips" in items
    assert all(c.bias_t_per_ha is None and c.state == "differs" for c in without_size(found))
