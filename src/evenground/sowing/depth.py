"""Why this sowing depth: moisture, soil and temperature against what is published."""

from __future__ import annotations

from evenground.basis.method import Method
from evenground.basis.plan import Plan

# Deepest sowing by soil [cm]: published advice of German plant protection services (light 6, heavy 4). For soils
# between the two nothing was found; 6 is taken.
DEEPEST_CM = {"sandy": 6.0, "medium": 6.0, "heavy": 4.0}
# Soil temperature at seed depth from which sowing is advised [deg C]: Deutsches Maiskomitee, 8 to 10.
COLDEST_C, SAFE_C = 8.0, 10.0


def depth_sentences(plan: Plan, method: Method) -> tuple[str, ...]:
    """Say why a method is sown at its depth, and what speaks against it.

    Parameters
    ----------
    plan : Plan
        Soil, moisture and temperature.
    method : Method
        Its depth and the farm's own reason.

    Source: see the constants above; seed belongs into moist soil: common practice, no source.
    """
    day, depth = plan.sowing, method.depth_cm
    said = [f"{depth:g} cm deep: {method.depth_reason or 'the plan gives no reason'}."]
    if day.moist_from_cm is not None:
        dry = depth <= day.moist_from_cm
        fault = "seed at this depth lies dry" if dry else "seed lies in moist soil"
        said.append(f"Soil is moist from {day.moist_from_cm:g} cm down: {fault}.")
    deepest = DEEPEST_CM.get(day.soil or "")
    if deepest is not None and depth > deepest:
        said.append(f"Advised at most {deepest:g} cm on {day.soil} soil: emergence may suffer.")
    said.append(_temperature(day.soil_temperature_c, day.soil_temperature_source))
    return tuple(said)


def _temperature(degrees: float | None, source: str) -> str:
    """Say what the soil temperature means."""
    rule = f"advised from {COLDEST_C:g} to {SAFE_C:g} °C on"
    if degrees is None:
        return f"Soil temperature at seed depth not measured; {rule}."
    where = f" ({source})" if source else " (source not said)"
    cold = "TOO COLD, wait" if degrees < COLDEST_C else "barely warm enough" if degrees < SAFE_C else "warm enough"
    return f"Soil {degrees:g} °C at seed depth{where}: {cold}; {rule}."
