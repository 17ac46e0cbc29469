"""What else there is to say about a layout: effort, ways side by side, lost passes, history, earlier yields."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from evenground.basis.errors import DoesNotFitError, InputError
from evenground.basis.field import Field, PointLayer, geodesic_area_m2
from evenground.basis.plan import Plan
from evenground.basis.strip import Draw
from evenground.basis.thousands import grouped
from evenground.layout.bouts import spreader_finding
from evenground.layout.choice import Choice
from evenground.layout.estimated import EstimatedUnevenness, estimate_unevenness
from evenground.layout.history import Finding, findings
from evenground.layout.outlook import Outlook, outlook


@dataclass(frozen=True, slots=True)
class Extras:
    """What else there is to say.

    Attributes
    ----------
    chosen : Choice or None
        What the layout gives and takes; None where the plan as it stands does not fit any more.
    history : tuple of Finding
        The field's history, question by question, and the spreader's bouts of this season.
    outlook : Outlook or None
        Ways side by side and lost passes; None likewise.
    estimated : tuple of EstimatedUnevenness
        What earlier yields of the field say, one a layer.
    notes : tuple of str
        What was left out, and why.
    """

    chosen: Choice | None
    history: tuple[Finding, ...]
    outlook: Outlook | None
    estimated: tuple[EstimatedUnevenness, ...]
    notes: tuple[str, ...]


def extras_of(
    plan: Plan,
    field: Field,
    draw: Draw,
    chosen: Choice | None,
    layers: Sequence[PointLayer] = (),
    notes: Sequence[str] = (),
) -> Extras:
    """Gather what else there is to say about a drawn layout.

    Parameters
    ----------
    plan : Plan
        As it stands now.
    field : Field
        Outline, history, zones.
    draw : Draw
        The strips.
    chosen : Choice or None
        What the layout gives and takes.
    layers : sequence of PointLayer
        Earlier yields.
    notes : sequence of str
        What was left out so far.

    Returns
    -------
    Extras

    Source: definition.
    """
    said, estimated = list(notes), []
    for layer in layers:
        try:
            estimated.append(estimate_unevenness(plan, field, layer))
        except InputError as error:
            said.append(str(error))
    try:
        seen: Outlook | None = outlook(plan, draw, geodesic_area_m2(field.boundary), field.second)
    except (DoesNotFitError, InputError) as error:
        seen = None
        said.append(str(error))
    bouts = spreader_finding(plan, draw)
    known = (*findings(plan, field, draw), *(() if bouts is None else (bouts,)))
    return Extras(chosen, known, seen, tuple(estimated), tuple(said))


def more_lines(plan: Plan, extras: Extras) -> list[str]:
    """Return the extras in plain lines.

    Parameters
    ----------
    plan : Plan
        Units and currency.
    extras : Extras
        As gathered.

    Returns
    -------
    list of str

    Source: definition.
    """
    lines = []
    if extras.chosen is not None:
        lines.append(_effort(plan, extras.chosen))
    if extras.outlook is not None:
        lines += _outlook_lines(plan, extras.outlook)
    open_ = [one.message.split(":")[0] for one in extras.history if one.state == "not asked"]
    known = [one.message for one in extras.history if one.state not in ("not asked", "none") and not one.against]
    if open_:
        lines += ["", "Field history not asked yet (section [history] of trial.toml): " + "; ".join(open_) + "."]
    if known:
        lines += ["", "Field history known:", *(f"  {text}" for text in known)]
    for one in extras.estimated:
        lines += [
            "",
            f"{one.layer} ({one.points} points) say: layout.strip_error_percent = {one.strip_error_percent:.1f}, "
            f"unevenness.reach_across_m = {one.reach_across_m:.0f}, "
            f"unevenness.reach_along_m = {one.reach_along_m:.0f}, "
            f"unevenness.patch_share = {one.patch_share:.2f}. "
            "What this trial can see is reckoned with the numbers of the plan. To use these, put them into the plan "
            "(trial.toml) and draw anew before sowing (--again REASON); both draws stay on record.",
        ]
    return lines + [f"  Note: {note}" for note in extras.notes]


def _effort(plan: Plan, one: Choice) -> str:
    money = f"{one.extra_cost:.0f} {plan.money.currency}"
    return (
        f"The strips are {grouped(one.metres_m)} m long together, {one.area_share:.0%} of the field. "
        f"It takes {one.sowing_h:.1f} h to sow; up to {one.tonnes_per_strip_t:.1f} t fresh a strip "
        f"({one.trailers_per_strip} trailer{'' if one.trailers_per_strip == 1 else 's'}), {one.weighings} weighings; "
        f"the harvest chain waits {one.extra_minutes:.0f} minutes ({money})."
    )


def _outlook_lines(plan: Plan, seen: Outlook) -> list[str]:
    change = seen.drawn_error_percent / seen.free_error_percent - 1.0
    effect = "no difference" if abs(change) < 0.005 else f"{abs(change):.0%} {'less' if change < 0 else 'more'}"
    lines = [f"Expected error of the gain under these limits against a free draw: {effect}."]
    lines += ["", "Ways to answer the question, and the smallest gain each would find four times in five:"]
    for way in seen.ways:
        sees = "cannot say" if way.detectable_t_per_ha is None else f"{way.detectable_t_per_ha:.2f} {plan.outcome.unit}"
        own = "" if way.measures_its_error else " if its error is guessed right: its own numbers do not show it"
        lines.append(f"  {way.name}: {sees}{own}. Could be fooled by {way.fooled_by}.")
    fewer = [one for one in seen.fewer if one.detectable_t_per_ha is not None][:4]
    if fewer:
        lines += ["", "If the new machine sows fewer passes, sow whole blocks in their order as drawn:"]
        lines += [
            f"  {one.passes} passes: {one.blocks} blocks, can see {one.detectable_t_per_ha:.2f} {plan.outcome.unit}"
            f"{'' if one.smallest_p <= 0.05 else '; the randomisation test cannot reach 5 %'}"
            for one in fewer
        ]
    return lines
