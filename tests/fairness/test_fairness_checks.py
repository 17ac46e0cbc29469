from datetime import timedelta

import pytest
from tests import small_trial as small

from evenground.basis.observations import Records
from evenground.fairness.check import Check
from evenground.fairness.checks import CHECKS, fairness, total_bias
from evenground.fairness.sizes import COMMON_PRACTICE
from evenground.harvest.strips import harvest

DRAW = small.draw()
ITEMS = (
    "seed rate", "seed lots", "hybrid", "dressing", "plants counted", "sowing day", "starter", "depth", "speed",
    "driver", "row spacing", "joints", "wheel-track rows", "tillage", "previous crop", "slurry bouts",
    "traces in the ground", "soil zones", "tramlines", "edge strips", "irrigation", "hoeing", "spraying", "treatments",
    "damage", "harvest day", "dry matter at harvest", "cutting height", "order of weighing", "weighed cut",
    "strips lost",
)  # fmt: skip


def looked(plan=None, records=None, draw=DRAW):
    plan = plan or small.plan()
    records = small.whole_season(draw) if records is None else records
    return fairness(plan, draw, records, harvest(plan, draw, records))


def one(item, **kwargs):
    (found,) = [c for c in looked(**kwargs) if c.item == item]
    return found


def season(**kinds):
    whole = small.whole_season(DRAW)
    return small.replaced(whole, **{k: change(getattr(whole, k)) for k, change in kinds.items()})


def strips_of(letter):
    return [s.strip for s in DRAW.strips if s.method == letter]


def moved(days, what, letter="B"):
    """Events of one kind moved by days for the strips of one method."""

    def change(rows):
        return [
            r.model_copy(update={"time": r.time + timedelta(days=days)})
            if r.event == what and r.strips[0] in strips_of(letter)
            else r
            for r in rows
        ]

    return change


def plus(*more):
    return lambda rows: [*rows, *more]


def with_b(**changes):
    return small.plan(methods=[small.method("A"), small.method("B", **changes)])


TWIN = {"kind": "twin", "row_spacing_m": 0.75, "twin_gap_m": 0.2}


def wetter(letter, points):
    def change(rows):
        return [
            r.model_copy(update={"dry_matter_percent": r.dry_matter_percent - points})
            if r.strips[0] in strips_of(letter)
            else r
            for r in rows
        ]

    return change


def thinner(letter, plants):
    def change(rows):
        return [
            r.model_copy(update={"plants": r.plants - plants}) if r.strips[0] in strips_of(letter) else r for r in rows
        ]

    return change


EVENT_B = [small.event(s, "treated") for s in strips_of("B")]
EVENT_A = [small.event(s, "treated") for s in strips_of("A")]

# item, plan, records, state, part of the question, is there a size
TABLE = [
    ("seed rate", None, None, "alike", False, False),
    ("seed rate", with_b(seeds_per_m2=8.0, row_pattern=TWIN), Records(), "differs", False, True),
    ("seed rate", with_b(seeds_per_m2=8.0), Records(), "differs", True, False),
    ("seed rate", with_b(seeds_per_m2=8.0, row_pattern=TWIN), None, "differs", False, False),  # counted plants have it
    ("seed lots", None, None, "alike", False, False),
    ("seed lots", small.plan(trial={"name": "t", "season": 2025, "seed_lots": 2}), None, "unknown", False, False),
    ("plants counted", None, Records(), "unknown", False, False),
    ("plants counted", None, None, "alike", False, False),
    ("plants counted", None, season(stand_counts=thinner("B", 3)), "alike", False, False),  # 3.4 %
    ("plants counted", None, season(stand_counts=thinner("B", 9)), "differs", False, True),  # 10 %
    ("sowing day", None, Records(), "unknown", False, False),
    ("sowing day", None, None, "alike", False, False),
    ("sowing day", None, season(events=moved(3, "sown")), "differs", False, True),
    ("harvest day", None, None, "alike", False, False),
    ("harvest day", None, season(events=moved(2, "harvested")), "differs", False, False),
    ("dry matter at harvest", None, Records(), "unknown", False, False),
    ("dry matter at harvest", None, season(samples=wetter("B", 2.0)), "alike", False, False),
    ("dry matter at harvest", None, season(samples=wetter("B", 2.1)), "differs", False, False),
    ("starter", None, None, "alike", False, False),
    ("starter", with_b(starter_kg_per_ha=80.0, row_pattern=TWIN), None, "differs", False, False),
    ("starter", with_b(starter_kg_per_ha=80.0), None, "differs", True, False),
    ("depth", with_b(depth_cm=7.0, row_pattern=TWIN), None, "differs", False, False),
    ("speed", with_b(speed_km_per_h=12.0, row_pattern=TWIN), None, "differs", False, False),
    ("strips lost", None, None, "alike", False, False),
    ("strips lost", None, season(events=plus(small.event(2, "strip_lost"))), "differs", False, False),
    ("strips lost", None, season(events=plus(small.event("1+2", "strip_lost"))), "alike", False, False),
    ("weighed cut", None, Records(), "unknown", False, False),
    ("weighed cut", None, None, "alike", False, False),
    (
        "weighed cut", None,
        season(events=plus(*[small.event(s, "cut_measured", length_m=300.0, width_m=4.5) for s in strips_of("B")])),
        "differs", False, False,
    ),
    (
        "weighed cut", None,
        season(events=plus(*[small.event(s, "cut_measured", length_m=300.0 if s % 3 else 330.0, width_m=4.5)
                             for s in strips_of("A") + strips_of("B")])),
        "alike", False, False,
    ),
    ("edge strips", None, None, "differs", False, False),  # A stands at both ends
    ("treatments", None, None, "unknown", False, False),
    ("treatments", None, season(events=plus(*EVENT_B)), "differs", False, False),
    ("treatments", None, season(events=plus(*EVENT_A, *EVENT_B)), "alike", False, False),
    ("damage", None, season(events=plus(small.event(5, "damage"))), "differs", False, False),
]  # fmt: skip


@pytest.mark.parametrize(("item", "plan", "records", "state", "asked", "sized"), TABLE)
def test_each_check(item, plan, records, state, asked, sized):
    got = one(item, plan=plan, records=records)
    assert (got.state, got.part_of_question, got.bias_t_per_ha is not None) == (state, asked, sized), got


def test_all_items_are_looked_at_for_every_method():
    plan = small.plan(methods=[small.method(x) for x in "ABC"])
    draw = small.draw(("ABC", "BCA", "CAB", "BAC"))
    got = looked(plan, draw=draw)
    assert len(CHECKS) == len(ITEMS)
    assert [(c.method, c.item) for c in got] == [(m, i) for m in "BC" for i in ITEMS]


def test_unknown_is_never_alike():
    """With nothing recorded, no check that needs a record may say alike."""
    states = {c.item: c.state for c in looked(records=Records())}
    for item in (
        "plants counted", "sowing day", "driver", "joints", "wheel-track rows", "tillage", "previous crop",
        "slurry bouts", "traces in the ground", "soil zones", "tramlines", "irrigation", "hoeing", "spraying",
        "treatments", "damage", "harvest day", "dry matter at harvest", "cutting height", "order of weighing",
        "weighed cut",
    ):  # fmt: skip
        assert states[item] == "unknown", item


def test_an_edge_of_each_is_alike():
    draw = small.draw(("AB", "BA", "AB"))
    assert one("edge strips", draw=draw, records=small.whole_season(draw)).state == "alike"


def test_days_count_within_blocks_only():
    # blocks 5 to 8 sown four days later, both methods alike: no bias
    late = [s.strip for s in DRAW.strips if s.block > 4]

    def change(rows):
        return [
            r.model_copy(update={"time": r.time + timedelta(days=4)})
            if r.event == "sown" and r.strips[0] in late
            else r
            for r in rows
        ]

    assert one("sowing day", records=season(events=change)).state == "alike"


def test_sowing_later_lowers_and_earlier_raises():
    later = one("sowing day", records=season(events=moved(3, "sown")))
    earlier = one("sowing day", records=season(events=moved(-3, "sown")))
    assert "B 3.0 days later than A" in later.found
    low, high = later.bias_t_per_ha
    assert low < 0 < high
    assert -low > high  # later costs more than it can bring
    assert earlier.bias_t_per_ha == pytest.approx((-high, -low))
    assert "Nafziger" in later.source


def test_harvest_days_come_from_loads_where_no_event_says():
    def change(rows):
        return [r for r in rows if r.event != "harvested"]

    assert one("harvest day", records=season(events=change)).state == "alike"


def test_a_source_stands_beside_every_check():
    for check in looked(records=season(events=moved(3, "sown"), stand_counts=thinner("B", 9))):
        assert check.source
        assert (check.source != COMMON_PRACTICE) == (
            check.bias_t_per_ha is not None or check.item in {"sowing day", "plants counted"}
        )
        assert check.why.endswith(".")
        assert bool(check.action) == (check.state != "alike")


def test_strips_sown_otherwise_count_for_what_they_were():
    swap = [small.event(1, "sown", n=9, method="B"), small.event(2, "sown", n=9, method="A")]
    got = one("edge strips", records=season(events=plus(*swap)))
    assert "B on 1 and A on 1" in got.found
    assert got.state == "alike"


def check(item="x", state="differs", bias=(-0.1, 0.2), method="B", asked=False):
    return Check(item, state, "", "", bias, "", "", method, asked)


SUMS = [
    ([], None, (0.0, 0.0)),
    ([check()], None, (-0.1, 0.2)),
    ([check(), check(bias=(0.0, 0.3))], None, (-0.1, 0.5)),
    ([check(), check(bias=None)], None, (-0.1, 0.2)),
    ([check(state="unknown", bias=(-9.0, 9.0))], None, (0.0, 0.0)),
    ([check(asked=True)], None, (0.0, 0.0)),
    ([check(), check(method="C", bias=(-0.5, 0.1))], None, (-0.5, 0.2)),  # the widest over methods, not their sum
    ([check(), check(method="C", bias=(-0.5, 0.1))], "B", (-0.1, 0.2)),
    ([check(), check(method="C", bias=(-0.5, 0.1))], "D", (0.0, 0.0)),
]


@pytest.mark.parametrize(("checks", "method", "expected"), SUMS)
def test_sizes_add_up(checks, method, expected):
    assert total_bias(checks, method) == pytest.approx(expected)


def test_a_seed_rate_and_a_count_are_not_added_twice():
    plan = with_b(seeds_per_m2=8.0, row_pattern=TWIN)
    found = looked(plan, season(stand_counts=thinner("B", 14)))
    assert [c.item for c in found if c.bias_t_per_ha] == ["plants counted"]
