"""How the strips were really sown and how the crop stood: what answers the critic who says it was the machine."""

from __future__ import annotations

from dataclasses import dataclass

from evenground.basis.observations import Records
from evenground.basis.plan import Plan
from evenground.basis.strip import Draw
from evenground.decide.side_comparison import SideResult
from evenground.decide.stand_outcomes import stand_compared
from evenground.sowing.sown_strips import SownStrip, sown_strips
from evenground.stand.summary import StandSummary, stand_summary


@dataclass(frozen=True)
class SownAndStood:
    """Sowing and stand of a trial.

    Attributes
    ----------
    as_sown : tuple of SownStrip
        Every drawn strip, by number.
    stand : StandSummary
        What was counted and measured.
    differences : tuple of SideResult
        The methods' stands held against the baseline's, the strip as the unit.
    """

    as_sown: tuple[SownStrip, ...]
    stand: StandSummary
    differences: tuple[SideResult, ...]


def sown_and_stood(plan: Plan, draw: Draw, records: Records) -> SownAndStood:
    """Gather how the strips were sown and how the crop stood.

    Parameters
    ----------
    plan : Plan
        What was meant.
    draw : Draw
        The strips.
    records : Records
        What was seen, corrections included.
    """
    found = stand_summary(plan, draw, records, level=plan.advice.level)
    return SownAndStood(sown_strips(plan, draw, records), found, stand_compared(found, plan, draw))
