"""A small invented trial for tests: blocks of two (or more) strips of 6 m x 300 m, everything else as the test says."""

from datetime import date, datetime, timedelta

from evenground.basis.field import Field  # noqa: F401 - the store's type
from evenground.basis.observations import (
    Damage,
    Event,
    LabValue,
    Load,
    Records,
    Sample,
    StandCount,
    Stubble,
    WeatherDay,
    Weighing,
)
from evenground.basis.plan import Plan
from evenground.basis.store import Stored
from evenground.basis.strip import Draw, Strip

DAY = datetime(2025, 4, 28, 9, 0)
AUTUMN = datetime(2025, 9, 9, 9, 0)
ORDERS = ("AB", "BA", "BA", "AB", "AB", "BA", "AB", "BA")


def plan(**changes):
    """An invented plan of single (A) against staggered twin rows (B); sections can be replaced."""
    content = {
        "trial": {"name": "Test piece", "season": 2025, "invented": True},
        "methods": [
            {"letter": "A", "name": "single rows", "baseline": True, "machine": "four", "seeds_per_m2": 9.5},
            {
                "letter": "B",
                "name": "staggered twin rows",
                "machine": "pairs",
                "seeds_per_m2": 9.5,
                "row_pattern": {"kind": "twin", "row_spacing_m": 0.75, "twin_gap_m": 0.2, "staggered": True},
            },
        ],
        "machines": [
            {"id": "four", "kind": "planter", "rows": 4, "row_spacing_m": 0.75},
            {"id": "pairs", "kind": "planter", "rows": 4, "row_spacing_m": 0.75},
        ],
    }
    content.update(changes)
    return Plan.model_validate(content)


def method(letter, **changes):
    """One method of an invented plan; the first letter of the alphabet is the baseline."""
    base = {
        "letter": letter,
        "name": f"way {letter}",
        "baseline": letter == "A",
        "machine": "four",
        "seeds_per_m2": 9.5,
    }
    return {**base, **changes}


def ring(left, width, length):
    corners = [(left, 0.0), (left + width, 0.0), (left + width, length), (left, length), (left, 0.0)]
    return tuple((9.0 + x / 70_000, 51.0 + y / 111_000) for x, y in corners)


def draw(orders=ORDERS, *, width=6.0, length=300.0):
    strips, number = [], 0
    for block, letters in enumerate(orders, start=1):
        for letter in letters:
            number += 1
            outline = ring(number * width, width, length)
            strips.append(
                Strip(
                    strip=number,
                    block=block,
                    method=letter,
                    width_m=width,
                    length_m=length,
                    area_m2=width * length,
                    cut_width_m=width - 1.5,
                    cut_length_m=length,
                    cut_area_m2=(width - 1.5) * length,
                    outline=outline,
                    cut_outline=outline,
                )
            )
    return Draw(
        number=1,
        drawn_at=datetime(2025, 3, 1, 12, 0),
        seed=7,
        allowed_orders=2 ** len(orders),
        smallest_p=2.0 ** (1 - len(orders)),
        plan_hash="0" * 64,
        version="0.1.0",
        heading_deg=0.0,
        strips=tuple(strips),
    )


def load(strips, n=1, **changes):
    return Load(id=f"L{strips}-{n}", time=AUTUMN, strips=str(strips), **changes)


def weighing(load_id, net_kg, n=1, **changes):
    return Weighing(id=f"W-{load_id}-{n}", time=AUTUMN, load=load_id, gross_kg=net_kg + 9000, tare_kg=9000, **changes)


def sample(strips, percent, n=1, **changes):
    return Sample(id=f"S{strips}-{n}", time=AUTUMN, strips=str(strips), dry_matter_percent=percent, **changes)


def event(strips, kind, n=1, when=DAY, **changes):
    return Event(id=f"E{strips}-{kind}-{n}", time=when, strips=str(strips), event=kind, **changes)


def damage(strips, cause, n=1, **changes):
    content = {"length_m": 30.0, **changes}
    return Damage(id=f"D{strips}-{n}", time=DAY, strips=str(strips), cause=cause, **content)


def lab(strips, n=1, **changes):
    content = {"lab": "invented laboratory", "lab_method": "wet chemistry", **changes}
    return LabValue(id=f"V{strips}-{n}", time=AUTUMN, strips=str(strips), **content)


def stubble(strips, height_cm, n=1, **changes):
    return Stubble(id=f"H{strips}-{n}", time=AUTUMN, strips=str(strips), height_cm=height_cm, **changes)


def count(strips, plants, n=1, **changes):
    return StandCount(
        id=f"C{strips}-{n}", time=DAY, strips=str(strips), length_m=13.333, rows=1, plants=plants, **changes
    )


def weather(first, rain):
    """One record a day from ``first`` on."""
    days = [first + timedelta(days=i) for i in range(len(rain))]
    return tuple(
        # Not the same on all days: a stuck sensor is doubted.
        WeatherDay(
            id=f"D{d}", time=datetime(d.year, d.month, d.day, 20), day=d, rain_mm=r, temperature_max_c=20.0 + d.day % 2
        )
        for d, r in zip(days, rain, strict=True)
    )


def whole_season(the_draw, *, tonnes=None, gain_t_per_ha=0.6, percent=33.0):
    """Records without any mishap: a load, weighing, sample, count, sowing and harvest day for every strip.

    The yields are invented: a block effect, a fixed small scatter, and the gain for every method but A.
    """
    scatter = (0.12, -0.25, 0.31, -0.08, -0.17, 0.22, 0.05, -0.28, 0.14, 0.09, -0.33, 0.18, -0.02, 0.27, -0.11, -0.14)
    loads, weighings, samples, counts, events = [], [], [], [], []
    for s in the_draw.strips:
        dm = (
            13.0
            + 0.3 * ((s.block * 5) % 7 - 3)
            + scatter[(s.strip * 7) % 16]
            + (gain_t_per_ha if s.method != "A" else 0)
        )
        fresh_kg = (tonnes or {}).get(s.strip, dm * s.cut_area_m2 / 10_000 / (percent / 100)) * 1000
        loads.append(load(s.strip))
        weighings.append(weighing(f"L{s.strip}-1", fresh_kg))
        samples.append(sample(s.strip, percent))
        counts.append(count(s.strip, 88 + (s.strip * 3) % 4))
        events += [event(s.strip, "sown"), event(s.strip, "harvested", when=AUTUMN)]
    return Records(
        loads=tuple(loads),
        weighings=tuple(weighings),
        samples=tuple(samples),
        stand_counts=tuple(counts),
        events=tuple(events),
        weather=weather(date(2025, 4, 28), [3.5, 4.5] * 15 + [0.0] * 31 + [2.5, 3.5] * 37),
    )


def replaced(records, **kinds):
    """The same records with some kinds exchanged."""
    return records.model_copy(update={k: tuple(v) for k, v in kinds.items()})


def stored(the_plan=None, the_draw=None, records=None):
    the_plan, the_draw = the_plan or plan(), the_draw or draw()
    records = records if records is not None else whole_season(the_draw)
    return Stored(the_plan, None, (the_draw,), records, "a" * 64, "b" * 64)
