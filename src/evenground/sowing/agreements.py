"""What drivers, sellers and lenders said to the settings before the draw, and who was not asked."""

from __future__ import annotations

from dataclasses import dataclass

from evenground.basis.days import said_day
from evenground.basis.plan import Plan
from evenground.basis.sowing_plan import Agreement, Role
from evenground.basis.strip import Draw

LENDS: tuple[Role, ...] = ("seller", "lender")


@dataclass(frozen=True)
class Answers:
    """What was said and what is missing.

    Attributes
    ----------
    said : tuple of str
        One sentence an answer.
    objections : int
        Answers that object [1].
    missing : tuple of str
        Who has not been asked, in words.
    late : tuple of str
        Answers given after the draw, in words.
    """

    said: tuple[str, ...]
    objections: int
    missing: tuple[str, ...]
    late: tuple[str, ...]


def answers(plan: Plan, draw: Draw | None) -> Answers:
    """Say who agreed or objected to the settings, and who is still to be asked before the draw.

    Parameters
    ----------
    plan : Plan
        Answers, and methods: each needs a driver's, each but the baseline one of whoever sells or lends it.
    draw : Draw or None
        When it was made decides which answers came late.
    """
    given = plan.people.agreements
    missing = []
    for method in plan.methods:
        if not _has(given, method.letter, ("driver",)):
            missing.append(f"the driver of method {method.letter} ({method.machine})")
        if not method.baseline and not _has(given, method.letter, LENDS):
            missing.append(f"whoever sells or lends method {method.letter}")
    day = draw.drawn_at.date() if draw is not None else None
    late = [f"{one.who} on {said_day(one.said_on)}" for one in given if day and one.said_on and one.said_on > day]
    return Answers(plan.people.answers, sum(not one.agrees for one in given), tuple(missing), tuple(late))


def _has(given: tuple[Agreement, ...], letter: str, roles: tuple[Role, ...]) -> bool:
    return any(one.role in roles and (not one.methods or letter in one.methods) for one in given)


def answer_sentences(plan: Plan, draw: Draw | None) -> tuple[str, ...]:
    """Say in sentences what was answered and what is missing.

    Parameters
    ----------
    plan : Plan
        Answers and methods.
    draw : Draw or None
        The draw that counts.
    """
    found = answers(plan, draw)
    lines = list(found.said)
    if found.missing:
        when = "was not asked before the draw" if draw is not None else "still to be asked before the draw"
        lines += [f"{one[0].upper()}{one[1:]}: {when}, or the answer is not recorded." for one in found.missing]
    lines += [f"Answered only after the draw: {one}." for one in found.late]
    return tuple(lines)
