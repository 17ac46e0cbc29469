"""Say what differed between the methods besides the method, and how much that could be worth. Unknown stays unknown."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated

import typer

from evenground.cli.opened_trial import in_columns, opened
from evenground.cli.output import print_json
from evenground.cli.trial_place import TrialName, TrialPath, located
from evenground.fairness.check import Check
from evenground.fairness.checks import fairness, total_bias, without_size
from evenground.harvest.strips import harvest


def run(
    trial: TrialPath = None,
    name: TrialName = None,
    as_json: Annotated[bool, typer.Option("--json", help="JSON on standard output.")] = False,
) -> None:
    """See the module docstring, which is the help text."""
    stored, draw = opened(located(trial, name))
    checks = fairness(stored.plan, draw, stored.records, harvest(stored.plan, draw, stored.records), stored.field)
    letters = dict.fromkeys(c.method for c in checks)
    if as_json:
        print_json(
            {
                "unit": stored.plan.outcome.unit,
                "checks": [c.as_dict() for c in checks],
                "total_bias_t_per_ha": list(total_bias(checks)),
                "total_bias_by_method": {m: list(total_bias(checks, m)) for m in letters},
                "differs_without_size": [{"method": c.method, "item": c.item} for c in without_size(checks)],
            }
        )
    else:
        typer.echo(as_text(checks, total_bias(checks), f"{stored.plan.outcome.amount}/ha"))


def as_text(checks: Sequence[Check], total: tuple[float, float], per_ha: str = "t/ha") -> str:
    """Write the checks as a table, what to do about them, and their sum."""
    rows = [[c.method, c.item, _state(c), c.found, _size(c.bias_t_per_ha)] for c in checks]
    to_do: dict[str, dict[str, None]] = {}
    for c in checks:
        if c.action and not c.part_of_question:
            to_do.setdefault(c.action, {})[c.item] = None
    actions = [f"{', '.join(items)}: {action}" for action, items in to_do.items()]
    sized = [c for c in checks if c.bias_t_per_ha is not None and c.state == "differs" and not c.part_of_question]
    together = f"All sizes together: {_size(total)} {per_ha}." if sized else "Nothing that differs has a known size."
    unsized = dict.fromkeys(c.item for c in without_size(checks))
    if unsized:
        together += f" Not in it, because no size is known: {', '.join(unsized)}."
    table = in_columns(["method", "looked at", "state", "found", f"could be worth {per_ha}"], rows)
    sources = dict.fromkeys(f"Size of {c.item}: {c.source}." for c in sized)
    return "\n".join([table, "", *(a[0].upper() + a[1:] for a in actions), "", together, *sources])


def _state(check: Check) -> str:
    return "part of the question" if check.part_of_question and check.state == "differs" else check.state


def _size(bias: tuple[float, float] | None) -> str:
    return (
        "-" if bias is None else f"{bias[0]:+.2f} to {bias[1]:+.2f}".replace("-0.00", "0.00").replace("+0.00", "0.00")
    )
