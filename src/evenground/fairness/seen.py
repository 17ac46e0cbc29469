"""What the checks look at, and how a finding is filled in."""

from __future__ import annotations

import statistics
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

from evenground.basis.field import Field
from evenground.basis.method import Method
from evenground.basis.observations import Records
from evenground.basis.plan import Plan
from evenground.basis.strip import Draw
from evenground.fairness.check import Check
from evenground.fairness.sizes import COMMON_PRACTICE
from evenground.harvest.strips import Harvest
from evenground.sowing.settings import differences
from evenground.sowing.sown_strips import SownStrip, sown_strips
from evenground.stand.plants import MethodStand, stand

State = Literal["alike", "differs", "unknown"]


@dataclass(frozen=True)
class Seen:
    """What the checks look at: one method held against the baseline.

    Attributes
    ----------
    plan, draw, records, harvest : as loaded and computed
        The trial.
    method : Method
        Which one.
    field : Field or None
        The field with its soil zones and what earlier years left in it, if known.
    """

    plan: Plan
    draw: Draw
    records: Records
    harvest: Harvest
    method: Method
    field: Field | None = None

    @property
    def pair(self) -> tuple[str, str]:
        """Letters of the method and of the baseline."""
        return self.method.letter, self.plan.baseline.letter

    @cached_property
    def sown(self) -> dict[int, str]:
        """Method each strip was really sown with."""
        return {s.strip: s.method for s in self.harvest.strips}

    @cached_property
    def yield_t_per_ha(self) -> float:
        """Yield level: mean of the baseline's strips, else what the plan expected [t/ha]."""
        letter = self.plan.baseline.letter
        values = [s.outcome for s in self.harvest.strips if s.method == letter and s.outcome is not None]
        return statistics.fmean(values) if values else self.plan.outcome.expected

    @cached_property
    def stands(self) -> dict[str, MethodStand]:
        """Stand by method."""
        return {m.method: m for m in stand(self.plan, self.draw, self.records).methods}

    @cached_property
    def as_sown(self) -> tuple[SownStrip, ...]:
        """What was written down while sowing, by strip."""
        return sown_strips(self.plan, self.draw, self.records)

    @cached_property
    def settings_asked(self) -> dict[str, bool]:
        """Settings that differ, and whether the trial asks about them."""
        return {d.setting: d.part_of_question for d in differences(self.plan, self.method)}

    def within_blocks(self, value_of_strip: Mapping[int, float]) -> float | None:
        """Mean over blocks of the method's mean minus the baseline's; None where no block has both."""
        blocks: dict[int, dict[str, list[float]]] = {}
        for strip in self.draw.strips:
            if strip.strip in value_of_strip and self.sown[strip.strip] in self.pair:
                by_method = blocks.setdefault(strip.block, {})
                by_method.setdefault(self.sown[strip.strip], []).append(value_of_strip[strip.strip])
        method, baseline = self.pair
        steps = [statistics.fmean(b[method]) - statistics.fmean(b[baseline]) for b in blocks.values() if len(b) == 2]
        return statistics.fmean(steps) if steps else None


def finding(
    seen: Seen,
    item: str,
    state: State,
    why: str,
    found: str,
    action: str,
    *,
    bias: tuple[float, float] | None = None,
    source: str = COMMON_PRACTICE,
    asked: bool = False,
) -> Check:
    """Fill in a check; a size is kept only where something differs, an action only where there is one to take.

    Parameters
    ----------
    seen : Seen
        The trial, with the method that is looked at.
    item, state, why, found, action : str
        What was looked at, how it stands, why it matters, what was found, what to do.
    bias : (float, float) or None
        How far the gain could be moved [t/ha].
    source : str
        Where the size comes from.
    asked : bool
        Whether the trial asks about this very difference.
    """
    bias = bias if state == "differs" else None
    return Check(item, state, why, found, bias, source, "" if state == "alike" else action, seen.method.letter, asked)


NOT_TOLD = "how the methods were sown was not told"
TELL = "Write down rows, seeds, depth, speed and starter of every method in the plan, then say that they are known."


def not_told(seen: Seen, item: str, why: str) -> Check | None:
    """Return a check that stays unknown because the settings of the plan are placeholders; None where they were told.

    Parameters
    ----------
    seen : Seen
        The trial, with the method that is looked at.
    item, why : str
        What would be looked at, and why it matters.
    """
    return None if seen.plan.trial.settings_told else finding(seen, item, "unknown", why, NOT_TOLD, TELL)


def against(seen: Seen, value: float, unit: str, more: str, less: str) -> str:
    """Say how a method stands against the baseline in something.

    Parameters
    ----------
    seen : Seen
        The trial, with the method that is looked at.
    value : float
        Method minus baseline [unit].
    unit, more, less : str
        Unit of the value, and the words for above and below.
    """
    method, baseline = seen.pair
    if abs(value) < 0.05:
        return f"{method} and {baseline} within 0.1 {unit}"
    return f"{method} {abs(value):.1f} {unit} {more if value > 0 else less} than {baseline}"


def setting_check(name: str, why: str, unit: str, of: Callable[[Method], float]) -> Callable[[Seen], Check]:
    """Make a check that holds one setting of the plan against the baseline's.

    Parameters
    ----------
    name, why, unit : str
        The setting, why it matters, its unit.
    of : callable
        Takes the setting from a method [unit].
    """

    def look(seen: Seen) -> Check:
        if (silent := not_told(seen, name, why)) is not None:
            return silent
        new, old = of(seen.method), of(seen.plan.baseline)
        found = f"{seen.pair[0]} {new:g}, {seen.pair[1]} {old:g} {unit} in the plan"
        state: State = "differs" if new != old else "alike"
        asked = seen.settings_asked.get(name, False)
        return finding(seen, name, state, why, found, "Set it alike for all methods.", asked=asked)

    return look
