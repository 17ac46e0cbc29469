"""What a phone needs to know of the trials it may enter records into, while it has no reception."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest

from evenground.basis.errors import InputError
from evenground.basis.observations import RECORD_KINDS, Records, current
from evenground.basis.plan import Plan
from evenground.basis.strip import Strip
from evenground.web.accounts.access import DAY_LINK_KINDS, Right, day_link, request_rights, visible_trials
from evenground.web.trials.models import HeldEntry, Trial
from evenground.web.trials.store import DatabaseStore

LOADS_TOLD = 300
DIGITS_OF_PLACE = 8
"""A hundredth of a millimetre would need ten; a phone knows metres, and a map of strips stays small."""
COUNTED_KINDS = ("stand_counts", "spacing_runs", "depths", "samples", "stubble", "damage", "events")
COUNTED_TOLD = 500


def trials_for_phone(request: HttpRequest) -> list[dict[str, Any]]:
    """Return the trials this phone may enter records into, or look at, each with all it needs in the field."""
    link = None if request.user.is_authenticated else day_link(request)
    trials = list(visible_trials(request.user).filter(put_away_at=None)) if link is None else [link.trial]
    return [trial_for_phone(t, kinds_for(request, t)) for t in trials]


def kinds_for(request: HttpRequest, trial: Trial) -> list[str]:
    """Name the kinds of record this phone may enter in a trial."""
    rights = request_rights(request, trial)
    if Right.RECORD in rights:
        return list(RECORD_KINDS)
    return list(DAY_LINK_KINDS) if Right.RECORD_DAY in rights else []


def trial_for_phone(trial: Trial, kinds: list[str]) -> dict[str, Any]:
    """Return what a phone keeps of one trial.

    Parameters
    ----------
    trial : Trial
        Its row.
    kinds : list of str
        Kinds of record that may be entered.
    """
    said: dict[str, Any] = {"slug": trial.slug, "name": trial.name, "season": trial.season, "kinds": kinds}
    try:
        stored = DatabaseStore(trial).load()
    except InputError as error:
        # What does not depend on the trial being sound can still be entered; it is held until it is.
        return {**said, "methods": [], "strips": [], "problems": [str(p) for p in error.problems[:5]]}
    seen = stored.records
    strips = stored.draw.strips if stored.draw is not None else ()
    return {
        **said,
        "plan_hash": stored.plan_hash,
        "records_hash": stored.records_hash,
        "draw": stored.draw.number if stored.draw is not None else 0,
        "blocks": sorted({s.block for s in strips}),
        "methods": _methods(stored.plan),
        "strips": [_strip(s) for s in strips],
        "machines": [{"id": m.id, "kind": m.kind, "rows": m.rows} for m in stored.plan.machines],
        **_names_known(trial, seen),
        "loads": [
            {"id": x.id, "trailer": x.trailer, "strips": list(x.strips), "order": x.order, "time": x.time.isoformat()}
            for x in current(seen.loads)[-LOADS_TOLD:]
        ],
        "counted": _counted(seen),
        "held": HeldEntry.objects.filter(trial=trial, settled_at=None).count(),
    }


def _methods(plan: Plan) -> list[dict[str, Any]]:
    """Letter, name, pattern and what a phone needs to ask for row units, of each method."""
    out = []
    for method in plan.methods:
        planter = plan.machine(method.machine)
        out.append(
            {
                "letter": method.letter,
                "name": method.name,
                "baseline": method.baseline,
                "row_pattern": method.row_pattern.kind,
                "row_spacing_m": method.row_pattern.row_spacing_m,
                "twin_gap_m": method.row_pattern.twin_gap_m,
                "staggered": method.row_pattern.staggered,
                "seeds_per_m2": method.seeds_per_m2,
                "machine": method.machine,
                "rows_per_pass": planter.rows,
            }
        )
    return out


def _strip(strip: Strip) -> dict[str, Any]:
    """Return a strip with its outlines, rounded to what a phone can tell."""
    said = {
        n: getattr(strip, n) for n in ("strip", "block", "method", "width_m", "length_m", "cut_width_m", "cut_length_m")
    }
    for name in ("outline", "cut_outline"):
        said[name] = [[round(lon, DIGITS_OF_PLACE), round(lat, DIGITS_OF_PLACE)] for lon, lat in getattr(strip, name)]
    return said


def _names_known(trial: Trial, seen: Records) -> dict[str, list[str]]:
    """Name the trailers and scales of this trial, the latest first, then those of last year's."""
    trailers = [*(x.trailer for x in seen.loads), *(w.trailer for w in seen.weighings)]
    scales = [*(w.scale for w in seen.weighings), *(s.scale for s in seen.scales)]
    if trial.grown_from is not None:
        before = DatabaseStore(trial.grown_from).records()
        trailers = [*(x.trailer for x in before.loads), *trailers]
        scales = [*(w.scale for w in before.weighings), *scales]
    return {"trailers": _each_once(trailers), "scales": _each_once(scales)}


def _each_once(names: list[str]) -> list[str]:
    return list(dict.fromkeys(n for n in reversed(names) if n))


def _counted(records: Records) -> list[dict[str, Any]]:
    """Say what was counted or measured in which strips already, the latest last."""
    return [
        {"kind": kind, "id": record.id, "strips": list(record.strips), "time": record.time.isoformat()}
        for kind in COUNTED_KINDS
        for record in current(getattr(records, kind))[-COUNTED_TOLD:]
    ]


def kinds_told() -> dict[str, dict[str, Any]]:
    """Describe every kind of record: its fields with type and limits (JSON Schema)."""
    return {kind: model.model_json_schema(mode="validation") for kind, model in RECORD_KINDS.items()}


def held_for_phone(request: HttpRequest) -> list[dict[str, Any]]:
    """Return the entries that wait at the farm until somebody has looked at them."""
    trials = visible_trials(request.user)
    held = HeldEntry.objects.filter(trial__in=trials, settled_at=None).select_related("trial").order_by("received_at")
    return [
        {
            "trial": h.trial.slug,
            "kind": h.kind,
            "id": h.record_id,
            "fields": h.text,
            "problems": h.problems,
            "received_at": h.received_at.isoformat(timespec="seconds"),
            "device": h.device,
        }
        for h in held
    ]
