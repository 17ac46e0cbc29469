"""Checks on the ground: what earlier years left in it, soil zones, tramlines."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from shapely.geometry import MultiPolygon, Polygon

from evenground.basis.field import Field
from evenground.fairness.check import Check
from evenground.fairness.seen import Seen, State, finding
from evenground.fairness.strip_labels import labelled, labels
from evenground.layout.bouts import spreader_finding
from evenground.layout.history import Finding, findings

# From where on a difference is named. Common practice, no source.
ZONE_SHARE = 0.05
# What each question of the field's history is asked for here; the rest goes together.
_NAMED = {"ploughing": "tillage", "borders": "previous crop", "slurry": "slurry bouts"}
_STATES: dict[str, State] = {"across": "alike", "alike": "alike", "none": "alike", "unequal": "differs"}
_WHY = {
    "tillage": "Tillage changes how a crop comes up and how deep it roots.",
    "previous crop": "What grew before leaves nitrogen, weeds and structure behind.",
    "slurry bouts": "Bouts of slurry lie in bands of plenty and of want.",
    "traces in the ground": "Old tramlines, drains, heaps, trenches and wood are seen in a crop for years.",
}


def _history(seen: Seen) -> tuple[Finding, ...]:
    """Hold what is known of the ground against the strips; bands need no field, places do."""
    nowhere = MultiPolygon()
    return findings(seen.plan, seen.field or Field(nowhere, nowhere), seen.draw)


def _traces(item: str, kinds: Callable[[str], bool], event: str = "") -> Callable[[Seen], Check]:
    """Make a check of some questions of the field's history; the worst answer counts.

    What was written down for every strip (entries of the kind ``event``) goes before what is said of the whole field.
    """

    def look(seen: Seen) -> Check:
        if event:
            by_strip = labels(seen, event, lambda e: e.what or "done")
            written = labelled(seen, item, by_strip, _WHY[item], "Compare within blocks that were treated alike.")
            if written is not None:
                return written
        mine = [f for f in _history(seen) if kinds(f.kind)]
        states = [_STATES.get(f.state, "unknown") for f in mine]
        state: State = "differs" if "differs" in states else "unknown" if "unknown" in states else "alike"
        found = _said(mine, states, state)
        action = (
            "Ask whoever worked the field before; draw it on the map of the field (field.geojson); turn the strips "
            "across bands."
        )
        return finding(seen, item, state, _WHY[item], found, action)

    return look


def _said(mine: Sequence[Finding], states: Sequence[State], state: State) -> str:
    """Give the messages that made the state, several questions not asked in one."""
    decisive = [f for f, s in zip(mine, states, strict=True) if s == state]
    silent = [f for f in decisive if f.state == "not asked"]
    if len(silent) > 1 and len(silent) == len(decisive):
        return f"{len(silent)} questions not asked yet"
    return " ".join(f.message for f in decisive if f not in silent or len(silent) == 1).rstrip(".")


tillage = _traces(_NAMED["ploughing"], lambda k: k == "ploughing", "tilled")
previous_crop = _traces(_NAMED["borders"], lambda k: k == "borders", "previous_crop")
slurry = _traces(_NAMED["slurry"], lambda k: k == "slurry")
traces = _traces("traces in the ground", lambda k: k not in _NAMED)


def soil_zones(seen: Seen) -> Check:
    """Compare how much of each soil zone the strips of both methods have, within blocks."""
    why = "Lighter soil runs dry first; the method that has more of it looks worse."
    shares = {**_plan_zones(seen), **_drawn_zones(seen)}
    if not shares:
        found = "no soil zones are named or drawn"
        return finding(
            seen, "soil zones", "unknown", why, found, "Name soil zones in the plan (soil.zones), or draw them."
        )
    steps = {name: seen.within_blocks(of_strip) for name, of_strip in shares.items()}
    known = {name: step for name, step in steps.items() if step is not None}
    state: State = "differs" if any(abs(s) > ZONE_SHARE for s in known.values()) else "alike"
    state = state if known else "unknown"
    said = [
        f"{name}: {seen.pair[0]} {100 * abs(s):.0f} % {'more' if s > 0 else 'less'}" for name, s in known.items() if s
    ]
    found = "; ".join(said) or "the same shares within blocks"
    return finding(seen, "soil zones", state, why, found, "Look at the result zone by zone (yieldmap).")


def _plan_zones(seen: Seen) -> dict[str, dict[int, float]]:
    return {
        zone.zone: {s.strip: float(s.strip in zone.strips) for s in seen.draw.strips} for zone in seen.plan.soil.zones
    }


def _drawn_zones(seen: Seen) -> dict[str, dict[int, float]]:
    """Share of each weighed cut that lies in each drawn zone."""
    field = seen.field
    if field is None or not field.zones:
        return {}
    cuts = {s.strip: field.plane.to_metres(Polygon(s.cut_outline)) for s in seen.draw.strips}
    out: dict[str, dict[int, float]] = {}
    for zone in field.zones:
        shape = field.plane.to_metres(zone.shape)
        of_strip = out.setdefault(f"{zone.layer} {zone.value:g}", dict.fromkeys(cuts, 0.0))
        for strip, cut in cuts.items():
            of_strip[strip] += cut.intersection(shape).area / cut.area
    return out


def tramlines(seen: Seen) -> Check:
    """Compare how many wheel tracks run in the strips of both methods, and what a spreader's bouts do to them."""
    why = "Wheels press plants and soil, and the rows beside a tramline have more light."
    action = "Lay the weighed cut beside the tramlines, or weigh the same number of them in both."
    weights = next((limit.weights for limit in seen.draw.limits if limit.name == "tramline" and limit.weights), ())
    strips, layout = sorted(s.strip for s in seen.draw.strips), seen.plan.layout
    spread = spreader_finding(seen.plan, seen.draw)
    besides = "" if spread is None else f"; {spread.message.rstrip('.')}"
    if len(weights) != len(strips):
        said = layout.sprayer_width_m is not None or spread is not None
        found = "none were dealt out in the draw" if said else "it is not said where tramlines run (sprayer_width_m)"
        return finding(seen, "tramlines", "unknown", why, found + besides, action)
    step = seen.within_blocks({strip: one[0] for strip, one in zip(strips, weights, strict=True)})
    counts = {m: sum(w[0] for s, w in zip(strips, weights, strict=True) if seen.sown[s] == m) for m in seen.pair}
    found = ", ".join(f"{m} {n:g}" for m, n in counts.items()) + " tramlines in the strips" + besides
    uneven = abs(step or 0.0) > 1e-9 or (spread is not None and spread.against)
    return finding(
        seen, "tramlines", "unknown" if step is None else "differs" if uneven else "alike", why, found, action
    )
