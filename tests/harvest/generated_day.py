"""An invented harvest day with known truth: 16 strips, 5 trailers, 2 scales, and any mishap that happens on such days.

The truth never enters the records; tests hold what was computed against it.
"""

from dataclasses import dataclass, field
from datetime import datetime, timedelta

import numpy as np

from evenground.basis.observations import Load, Records, Sample, Weighing

DRY_MATTER_PERCENT = 33.0
TARE_DRIFT_KG = 25.0
# scale: minutes from field to scale, and their spread
DRIVES = {"yard": (22.0, 4.0), "bridge": (38.0, 6.0)}
MISHAPS = (
    "slip_typed_twice",
    "slip_number_twice",
    "no_trailer_on_slip",
    "slip_lost",
    "load_forgotten",
    "tonnes_for_kg",
    "digit_missing",
    "two_strips_in_one",
    "two_records_one_trailer",
    "cumulative",
)
# The wrong trailer on a slip: found where it stays alone. Two that follow each other on slips without a tare leave no
# trace in the records at all, so no rule can find them; with a tare on the slip they are found.
WRONG_TRAILER = "wrong_trailer"
TARES = ("own", "morning", "several", "net")


def minutes(x):
    return timedelta(minutes=round(float(x)))


@dataclass
class Day:
    """Records of the day and the truth behind them."""

    records: Records
    truth_t: dict
    happened: list = field(default_factory=list)


@dataclass
class Trip:
    """One trailer load on its way."""

    load: Load
    parts: dict
    filled: datetime
    trailer: int
    scale: str
    weighed: datetime
    cumulative: bool = False


def generated_day(seed, *, mishaps=MISHAPS, rate=0.05, clock=False, midnight=False, numbered=True, tares=None):
    """Return an invented day.

    ``rate`` is the chance of each mishap at each load; ``clock`` puts one scale an hour off; ``midnight`` begins in the
    afternoon and dates the small hours wrongly.
    """
    rng = np.random.default_rng(seed)
    happened = []
    start = datetime(2025, 9, 9, 15 if midnight else 7, 0)
    trips, truth = _trips(rng, start, mishaps, rate, happened)
    tares = tares or str(rng.choice(TARES))
    weighings = _slips(rng, trips, tares, start, mishaps, rate, happened)
    loads = [t.load for t in trips]
    if not numbered:
        loads = [x.model_copy(update={"order": None}) for x in loads]
    if "load_forgotten" in mishaps:
        gone = {x.id for x in loads if rng.random() < rate}
        happened += [f"load_forgotten {i}" for i in sorted(gone)]
        loads = [x for x in loads if x.id not in gone]
    if clock:
        off = timedelta(hours=int(rng.choice([-1, 1])))
        weighings = [w.model_copy(update={"time": w.time + off}) if w.scale == "bridge" else w for w in weighings]
        happened.append(f"clock {off}")
    if midnight:
        loads, weighings = _night(loads, start), _night(weighings, start)
    samples = [
        Sample(id=f"S{n}", time=start, strips=str(n), dry_matter_percent=DRY_MATTER_PERCENT) for n in range(1, 17)
    ]
    records = Records(loads=tuple(loads), weighings=tuple(weighings), samples=tuple(samples))
    return Day(records, truth, happened)


def _night(rows, start):
    """Date the small hours with the day of the evening before, as a tired driver does."""
    return [
        r.model_copy(update={"time": r.time - timedelta(days=1)}) if r.time.date() > start.date() else r for r in rows
    ]


def _trips(rng, start, mishaps, rate, happened):
    """Cut the strips one after the other into whichever trailer is back first."""
    truth = {n: float(rng.normal(8.0, 0.6)) for n in range(1, 17)}
    back = dict.fromkeys(range(1, 6), start)
    clock, trips, number, rest = start, [], 0, None
    for strip in range(1, 17):
        two = rng.random() < 0.4
        share = float(rng.uniform(0.4, 0.6)) if two else 1.0
        for part in range(2 if two else 1):
            kg = 1000.0 * truth[strip] * (share if part == 0 else 1.0 - share)
            if rest is not None:  # the last trailer is not full and takes this one as well
                _add_rest(rest, strip, kg, clock, rng, trips, back, number)
                number, clock, rest = number + (rest[0] != "two_strips_in_one"), clock + minutes(6), None
                continue
            trailer = min(back, key=lambda k: (back[k], k))
            clock = max(clock, back[trailer]) + minutes(rng.uniform(7, 13))
            number += 1
            trip = _trip(number, {strip: kg}, clock, trailer, rng)
            trips.append(trip)
            back[trailer] = trip.weighed + minutes(rng.uniform(20, 30))
            for kind in ("two_strips_in_one", "two_records_one_trailer", "cumulative"):
                if kind in mishaps and rng.random() < rate and strip < 16 and part == (1 if two else 0):
                    rest = (kind, trip)
                    happened.append(f"{kind} {strip}")
                    break
    return trips, truth


def _trip(number, parts, filled, trailer, rng):
    scale = "yard" if trailer <= 3 else "bridge"
    middle, spread = DRIVES[scale]
    weighed = filled + minutes(np.clip(rng.normal(middle, spread), middle - 2 * spread, middle + 2 * spread))
    strips = "+".join(map(str, parts))
    load = Load(id=f"L{number}", time=filled, strips=strips, trailer=str(trailer), order=number)
    return Trip(load, dict(parts), filled, trailer, scale, weighed)


def _add_rest(rest, strip, kg, clock, rng, trips, back, number):
    """Put the next strip's crop on a trailer that has not been emptied."""
    kind, trip = rest
    if kind == "cumulative":  # weighed beside the field on its way: first reading, then the second on top
        trip.weighed = trip.filled + minutes(2)
        later = _trip(number + 1, {strip: kg}, clock + minutes(8), trip.trailer, rng)
        later.cumulative = True
        trip.scale = later.scale = "yard"
        trips.append(later)
        back[trip.trailer] = later.weighed + minutes(25)
        return
    later = clock + minutes(6)
    trip.parts[strip] = kg
    trip.weighed += later - trip.filled
    back[trip.trailer] += later - trip.filled
    if kind == "two_strips_in_one":
        both = (*trip.load.strips, strip)
        trip.load = trip.load.model_copy(update={"strips": both, "time": later})
        trip.filled = later
    else:
        load = Load(id=f"L{number + 1}", time=later, strips=str(strip), trailer=str(trip.trailer), order=number + 1)
        trips.append(Trip(load, {}, later, trip.trailer, trip.scale, trip.weighed))


def _slips(rng, trips, tares, start, mishaps, rate, happened):
    """Write the slips, with whatever goes wrong at the scale."""
    empty = {k: 7000.0 + 700.0 * k for k in range(1, 6)}
    out, on_it = [], dict.fromkeys(empty, 0.0)
    if tares == "morning":
        for k, kg in empty.items():
            where = "yard" if k <= 3 else "bridge"
            out.append(
                Weighing(id=f"T{k}", time=start - timedelta(minutes=30 - k), scale=where, trailer=str(k), tare_kg=kg)
            )
    for n, trip in enumerate(sorted((t for t in trips if t.parts), key=lambda t: t.weighed), start=1):
        tare = empty[trip.trailer] + float(rng.uniform(-2, 2)) * TARE_DRIFT_KG
        added = sum(trip.parts.values())
        base = on_it[trip.trailer] if trip.cumulative else tare
        gross = 10.0 * round((base + added) / 10.0)
        on_it[trip.trailer] = base + added
        entry = {
            "id": f"W{n}",
            "time": trip.weighed,
            "scale": trip.scale,
            "slip": f"{100 + n}",
            "trailer": str(trip.trailer),
        }
        if trip.cumulative:
            entry |= {"gross_kg": gross, "cumulative": True}
        elif tares == "own" or (tares == "net" and _followed(trip, trips)):
            entry |= {"gross_kg": gross, "tare_kg": 10.0 * round(tare / 10.0)}
        elif tares == "net":
            entry |= {"slip_net_kg": gross - 10.0 * round(tare / 10.0)}
        else:
            entry |= {"gross_kg": gross}
        out += _spoilt(rng, entry, mishaps, rate, happened)
        if tares == "several" and not _followed(trip, trips):
            out.append(
                Weighing(
                    id=f"T{n}",
                    time=trip.weighed + timedelta(minutes=9),
                    scale=trip.scale,
                    trailer=str(trip.trailer),
                    tare_kg=10.0 * round(tare / 10.0),
                )
            )
    return out


def _followed(trip, trips):
    """Whether the next reading of this trailer is taken on top of this one."""
    later = [t for t in trips if t.trailer == trip.trailer and t.weighed > trip.weighed and t.parts]
    return bool(later) and min(later, key=lambda t: t.weighed).cumulative


def _spoilt(rng, entry, mishaps, rate, happened):
    """Return the slip as it reaches the records: as it is, wrong, twice, or not at all."""

    def hit(name):
        if name not in mishaps or rng.random() >= rate:
            return False
        happened.append(f"{name} {entry['id']}")
        return True

    if hit("slip_lost"):
        return []
    if hit("no_trailer_on_slip"):
        entry = {**entry, "trailer": ""}
    if ("tare_kg" in entry or not any(h.startswith(WRONG_TRAILER) for h in happened)) and hit(WRONG_TRAILER):
        entry = {**entry, "trailer": str(1 + int(entry["trailer"] or 0) % 5)}
    mass = "gross_kg" if "gross_kg" in entry else "slip_net_kg"
    if hit("tonnes_for_kg"):
        entry = {**entry, mass: entry[mass] / 1000.0}
        entry.pop("tare_kg", None)
    elif hit("digit_missing"):
        entry = {**entry, mass: entry[mass] // 10.0}
        entry.pop("tare_kg", None)
    slip = Weighing(**entry)
    if hit("slip_typed_twice"):
        return [slip, slip.model_copy(update={"id": slip.id + "b"})]
    if hit("slip_number_twice"):
        return [slip, Weighing(**{**entry, "id": slip.id + "b", mass: entry[mass] + 270.0})]
    return [slip]
