"""Hypothesis strategies: any plan, any records, any draw a store must keep."""

from datetime import date, datetime, timedelta, timezone
from itertools import accumulate

from hypothesis import strategies as st

from evenground.basis.harvest_records import WAYS
from evenground.basis.observations import RECORD_KINDS, Event, Sample
from evenground.basis.plan import Plan
from evenground.basis.quality_records import DAMAGE_CAUSES
from evenground.basis.strip import AppliedLimit, Draw, Strip

words = st.text(
    st.characters(exclude_categories=("Cs", "Cc", "Zl", "Zp"), exclude_characters="\ufeff"), max_size=20
).map(str.strip)
awkward = words | st.sampled_from(['a;b,"c"', "9.500", "1,5", "=1+1", "Höhe 5 m", "two\nlines", "'", "#", "nan"])
names = words.filter(bool)


def numbers(low, high):
    """Any float between the limits, and often a short one."""
    anything = st.floats(low, high).filter(lambda x: x == 0 or abs(x) > 1e-12)
    return anything | st.integers(int(low * 4) + 1, int(high * 4)).map(lambda n: n / 4)


@st.composite
def plans(draw):
    letters = draw(st.lists(st.sampled_from("ABCDEFG"), min_size=2, max_size=4, unique=True))
    baseline = draw(st.sampled_from(letters))
    methods = []
    for letter in letters:
        spacing = draw(numbers(0.3, 1.0))
        pattern = {"kind": "single", "row_spacing_m": spacing}
        if draw(st.booleans()):
            pattern |= {"kind": "twin", "twin_gap_m": spacing / 3, "staggered": draw(st.booleans())}
        methods.append(
            {
                "letter": letter,
                "name": draw(names),
                "baseline": letter == baseline,
                "machine": "p",
                "row_pattern": pattern,
                "seeds_per_m2": draw(numbers(4, 15)),
                "depth_cm": draw(numbers(2, 10)),
                "extra_cost_per_ha": draw(numbers(-500, 500)),
            }
        )
    return Plan.model_validate(
        {
            "trial": {
                "name": draw(names),
                "season": draw(st.integers(2000, 2050)),
                "farm": draw(awkward),
                "question": draw(awkward),
                "invented": True,
            },
            "outcome": {
                "product": draw(st.sampled_from(["silage", "grain"])),
                "expected_t_per_ha": draw(numbers(1, 30)),
            },
            "methods": methods,
            "machines": [
                {
                    "id": "p",
                    "kind": "planter",
                    "rows": draw(st.integers(1, 24)),
                    "row_spacing_m": draw(numbers(0.3, 1)),
                },
                {"id": "h", "kind": "combine", "rows": 6, "row_spacing_m": 0.75},
            ],
            "layout": {
                "heading_deg": draw(st.just("best") | numbers(0, 359)),
                "blocks": draw(st.just("most") | st.integers(1, 60)),
                "harvester": draw(st.sampled_from([None, "h"])),
                "limits": draw(st.sampled_from([(), ("edge",), ("linear_trend", "equal_orders")])),
                "seed": draw(st.none() | st.integers(0, 2**63 - 1)),
            },
            "money": {
                "machine_access": [{"method": baseline, "way": "hire", "price_per_ha": draw(numbers(0, 200))}],
                "chance_short_year": draw(numbers(0, 1)),
            },
            "advice": {"worthwhile_loss_t_per_ha": draw(st.none() | numbers(0, 5))},
            "people": {"agreed": draw(st.lists(awkward, max_size=3).map(tuple)), "paid_seed": draw(awkward)},
        }
    )


times = st.datetimes(datetime(2025, 1, 1), datetime(2026, 12, 31)) | st.datetimes(
    datetime(2025, 1, 1), datetime(2026, 12, 31), timezones=st.just(timezone(timedelta(hours=2)))
)
strip_lists = st.lists(st.integers(1, 40), min_size=1, max_size=3, unique=True).map(tuple)
one_strip = st.integers(1, 40).map(lambda n: (n,))
FIELDS = {
    "loads": {"strips": strip_lists, "trailer": awkward},
    "weighings": {
        "load": st.none() | names,
        "scale": awkward,
        "slip": awkward,
        "trailer": awkward,
        "gross_kg": numbers(15_000, 60_000),
        "tare_kg": numbers(0, 14_000),
    },
    "scales": {"scale": names, "way": st.sampled_from(WAYS), "resolution_kg": st.none() | numbers(1, 900)},
    "mass_estimates": {"strips": strip_lists, "way": st.just("counter"), "mass_kg": numbers(1, 90_000)},
    "cut_areas": {
        "strips": strip_lists,
        "rows": st.integers(4, 48),
        "length_m": numbers(1, 4000),
        "row_spacing_m": st.none() | numbers(0.25, 2.5),
        "joints": st.lists(numbers(0.25, 2.5), max_size=3).map(tuple),
    },
    "stubble": {"strips": strip_lists, "height_cm": numbers(1, 149), "stubs": st.integers(1, 99)},
    "lab_values": {"strips": strip_lists, "lab": names, "lab_method": awkward, "starch_percent": numbers(0, 99)},
    "cut_plants": {
        "strips": strip_lists,
        "plants": st.integers(1, 40),
        "cobs": st.integers(0, 80),
        "husk": st.sampled_from(["without", "with"]),
        "whole_fresh_g": st.none() | numbers(5_000, 9_000),
        "cobs_fresh_g": st.none() | numbers(1, 4_000),
    },
    "damage": {"strips": strip_lists, "cause": st.sampled_from(DAMAGE_CAUSES), "length_m": st.none() | numbers(1, 400)},
    "scores": {
        "strips": one_strip,
        "hidden": st.booleans(),
        "ground_cover_percent": numbers(0, 99),
        "crop_height_cm": st.none() | numbers(1, 499),
        "leaf_rolling": st.none() | st.integers(1, 9),
        "disease": names,
        "diseased_percent": st.none() | numbers(0, 99),
        "photo": st.sampled_from(["", "photos/strip 7.jpg"]),
    },
    "root_pits": {
        "strips": one_strip,
        "deepest_root_cm": numbers(1, 399),
        "grid_count": st.none() | st.integers(0, 40),
        "grid_squares": st.integers(40, 200),
        "grid_square_cm": st.none() | numbers(1, 20),
    },
    "mineral_nitrogen": {
        "strips": strip_lists,
        "from_cm": numbers(0, 60),
        "to_cm": numbers(61, 300),
        "mineral_n_kg_per_ha": numbers(0, 999),
        "lab": awkward,
    },
    "stand_counts": {
        "strips": strip_lists,
        "row_unit": st.none() | st.integers(1, 48),
        "length_m": numbers(1, 400),
        "plants": st.integers(50, 5000),
        "stage": st.sampled_from([None, "emerging", "three_leaves", "after_last_hoeing"]),
        "late_plants": st.none() | st.integers(0, 50),
        "lost_crows": st.integers(0, 9),
    },
    "spacing_runs": {
        "strips": strip_lists,
        "run": awkward,
        "line": st.integers(1, 2),
        "offset_cm": numbers(-100, 100),
        "unit": st.sampled_from(["cm", "m"]),
        # gaps of 1 to 3 can be either, centimetres or metres
        "readings": st.lists(numbers(1.1, 2.9), min_size=2, max_size=6).map(
            lambda gaps: tuple(round(at, 6) for at in accumulate(gaps))
        ),
    },
    "joints": {
        "strips": st.integers(1, 40).map(lambda n: (n,)) | st.integers(1, 40).map(lambda n: (n, n + 1)),
        "joint": st.integers(1, 24),
        "joint_m": numbers(0.25, 2.5),
    },
    "depths": {"strips": strip_lists, "depth_cm": numbers(0, 15)},
    "weather": {
        "day": st.dates(date(2025, 1, 1), date(2026, 12, 31)),
        "rain_mm": st.none() | numbers(0, 300),
        "temperature_min_c": st.none() | numbers(-30, 9),
        "temperature_max_c": st.none() | numbers(10, 50),
        "humidity_percent": st.none() | numbers(1, 99),
        "radiation_mj_per_m2": st.none() | numbers(1, 40),
        "checked": st.booleans(),
    },
}
CLASSES = RECORD_KINDS


@st.composite
def records(draw, kind):
    """A list of records of one kind with ids of their own."""
    ids = draw(st.lists(names, min_size=1, max_size=5, unique=True))
    shared = {"who": awkward, "note": awkward, "time": times, "lon": st.none() | numbers(-180, 180)}
    out = []
    for i in ids:
        if kind == "samples":
            wet = draw(numbers(500, 2000))
            oven = {"wet_g": wet, "dry_g": wet * draw(st.floats(0.1, 0.9))}
            own = draw(st.just(oven) | numbers(9, 98).map(lambda v: {"dry_matter_percent": v}))
            own = {**own, "strips": draw(strip_lists)}
            model = Sample
        elif kind == "events":
            own = draw(
                st.sampled_from(
                    [
                        {"event": "sown", "method": "A"},
                        {"event": "sown", "seed_lot": draw(awkward), "stops": draw(st.none() | st.integers(0, 200))},
                        {"event": "sown", "rows_off": draw(st.integers(0, 48)), "speed_km_per_h": draw(numbers(1, 40))},
                        {"event": "sown", "rows_off_m": draw(numbers(0, 900)), "lifted_m": draw(numbers(0, 900))},
                        {"event": "sown", "overlap_m2": draw(numbers(0, 900)), "sown_fraction": draw(st.floats(0, 1))},
                        {"event": "sown", "seeds_per_m2": draw(numbers(1, 50))},
                        {"event": "cut_measured", "length_m": 201.3, "width_m": 4.5},
                        {"event": "sown", "hybrid": draw(awkward), "dressing": draw(awkward)},
                        {"event": "hoed", "what": draw(awkward)},
                        {"event": "previous_crop", "what": draw(names)},
                        {"event": draw(st.sampled_from(["marker_set", "marker_out"])), "what": draw(awkward)},
                        {"event": "product_changed", "product": draw(st.sampled_from([None, "grain", "corn_cob_mix"]))},
                        {"event": "other"},
                    ]
                )
            )
            own = {**own, "strips": draw(strip_lists)}
            model = Event
        else:
            own = {k: draw(s) for k, s in FIELDS[kind].items()}
            model = CLASSES[kind]
        general = {k: draw(s) for k, s in shared.items()}
        if own.get("product"):
            general["note"] = draw(names)  # a decision has a reason
        out.append(model.model_validate({"id": i, **own, **general}))
    return out


@st.composite
def draws(draw, number=1):
    """A draw with strips anywhere."""
    corner = st.tuples(numbers(-180, 180), numbers(-60, 60))
    ring = st.lists(corner, min_size=3, max_size=5).map(lambda c: (*c, c[0]))
    size = draw(st.integers(1, 6))
    strips = [
        Strip(
            strip=n + 1,
            block=1 + n // 2,
            method="AB"[n % 2],
            width_m=draw(numbers(1, 30)),
            length_m=draw(numbers(10, 900)),
            area_m2=draw(numbers(10, 9000)),
            cut_width_m=draw(numbers(1, 20)),
            cut_length_m=draw(numbers(10, 900)),
            cut_area_m2=draw(numbers(10, 9000)),
            outline=draw(ring),
            cut_outline=draw(ring),
        )
        for n in range(size)
    ]
    limit = AppliedLimit(name="edge", bound=draw(st.none() | numbers(0, 1)), applied=draw(st.booleans()), reason="r")
    return Draw(
        number=number,
        drawn_at=draw(times),
        reason="again" if number > 1 else "",
        seed=draw(st.integers(0, 2**63 - 1)),
        limits=(limit,),
        allowed_orders=draw(st.integers(1, 2**200)),
        smallest_p=draw(st.floats(1e-12, 1)),
        plan_hash="0" * 64,
        version="0.1.0",
        heading_deg=draw(numbers(0, 359)),
        strips=tuple(strips),
    )


kinds = st.sampled_from(sorted(RECORD_KINDS))
