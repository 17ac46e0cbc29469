"""A border comparison in plain words, in the order of every answer: what was seen, how far off, why, what next."""

from __future__ import annotations

from collections.abc import Sequence

from evenground.basis.layout_plan import STRIP_ERROR_SOURCE
from evenground.basis.plan import Plan
from evenground.fairness.border import LAST, REASON, BorderAnswer, NextYear
from evenground.layout.detectable import detectable
from evenground.numerics.power import detectable_gain

BLOCKS = (4, 6, 8, 10)
STRIP_ERROR_PERCENT = 4.0


def next_year_of(plan: Plan | None, mean_t_per_ha: float, blocks: Sequence[int] = BLOCKS) -> tuple[NextYear, ...]:
    """Say what next year's layout would detect, for several numbers of blocks.

    Parameters
    ----------
    plan : Plan or None
        Its strip error and sampling; without one two methods and a strip error of 4 %.
    mean_t_per_ha : float
        Yield level [t/ha].
    blocks : sequence of int
        Numbers of blocks [1].

    Source: power of the t test, `evenground.numerics.power`; strip error as named.
    """
    if plan is None:
        sigma = STRIP_ERROR_PERCENT / 100.0 * mean_t_per_ha
        gains = [detectable_gain(sigma=sigma, variance_factor=2.0 / n, residual_df=n - 1) for n in blocks]
        return tuple(
            NextYear(n, g, STRIP_ERROR_PERCENT, f"{STRIP_ERROR_PERCENT:g} %: {STRIP_ERROR_SOURCE}")
            for n, g in zip(blocks, gains, strict=True)
        )
    out = []
    for n in blocks:
        seen = detectable(plan, n)
        out.append(NextYear(n, seen.t_per_ha, seen.strip_error_percent, seen.source))
    return tuple(out)


def in_words(answer: BorderAnswer) -> list[str]:
    """Put a border comparison into lines for a screen.

    Parameters
    ----------
    answer : BorderAnswer
        From `evenground.fairness.border.border_comparison`.

    Returns
    -------
    list of str
    """
    lines = [seen(answer), how_far(answer), "", REASON, *explained(answer)]
    if answer.earlier is not None:
        lines += ["", answer.earlier.sentence]
    lines += ["", *_details(answer), *(f"Note: {text}" for text in answer.notes)]
    return [*lines, layout_line(answer.next_year), "", last_sentence(answer.next_year)]


def explained(answer: BorderAnswer) -> list[str]:
    """List what besides the method could have made the step.

    Parameters
    ----------
    answer : BorderAnswer
        The comparison.
    """
    lines = ["What could explain the step:"]
    for one in answer.explanations:
        size = "size not known" if one.bias_t_per_ha is None else f"{_span(one.bias_t_per_ha)} t/ha"
        lines.append(f"- {one.item} ({one.state}): {one.found}; {size}.")
    return lines


def seen(answer: BorderAnswer) -> str:
    """Say what was seen.

    Parameters
    ----------
    answer : BorderAnswer
        The comparison.
    """
    side = "more" if answer.step >= 0 else "less"
    where = "At the border" if answer.way == "points" else "Over both areas"
    return f"{where} {answer.method} gave {abs(answer.step):.2f} {answer.unit} {side} than {answer.baseline}."


def how_far(answer: BorderAnswer) -> str:
    """Say how far the method's own part may lie from it.

    Parameters
    ----------
    answer : BorderAnswer
        The comparison.
    """
    return (
        f"What the method itself did lies anywhere from {_span(answer.interval)} t/ha, and that range is at least "
        f"this wide ({100 * answer.level:.0f} %)."
    )


def _signed(value: float) -> str:
    """Write a number with its sign, a true minus below zero."""
    return f"{value:+.2f}".replace("-", "−")


def _span(ends: tuple[float, float]) -> str:
    return f"{_signed(ends[0])} to {_signed(ends[1])}"


def _details(answer: BorderAnswer) -> list[str]:
    fit = answer.fit
    error = "not known" if answer.step_standard_error is None else f"{answer.step_standard_error:.2f} t/ha"
    lines = [
        f"Error of the step itself: {error}. Steps between neighbouring pieces sown alike: {answer.placebo_sd:.2f} "
        f"t/ha ({answer.spread.percent:.1f} %; {answer.spread.source})."
    ]
    if fit is not None:
        pairs = fit.pair_differences
        lines.append(
            f"Points up to {fit.bandwidth:.0f} m from the border, {fit.cells} places; in {len(pairs)} pieces along it "
            f"{answer.method} was ahead in {int((pairs > 0).sum())}."
        )
        others = [f"{_signed(s)} up to {h:.0f} m" for h, s in answer.sensitivity if abs(h - fit.bandwidth) > 1e-9]
        if others:
            lines.append(f"With other distances the step is {', '.join(others)}.")
    return lines


def last_sentence(next_year: Sequence[NextYear]) -> str:
    """Say what every answer ends with: what it cannot tell, and what strips drawn at random would see.

    Parameters
    ----------
    next_year : sequence of NextYear
        By number of blocks.
    """
    known = [n for n in next_year if n.detectable_t_per_ha is not None]
    if not known:
        return f"{LAST}: not known yet; 'evenground layout' reckons it."
    found = ", ".join(f"{n.blocks} blocks {n.detectable_t_per_ha:.2f}" for n in known)
    return f"{LAST}: {found} t/ha, four times in five."


def layout_line(next_year: Sequence[NextYear]) -> str:
    """Say what next year's layout is, and what its strip error rests on.

    Parameters
    ----------
    next_year : sequence of NextYear
        By number of blocks.
    """
    start = "Next year's layout: strips drawn at random ('evenground layout')"
    return f"{start}, strip error {next_year[0].source.rstrip('.')}." if next_year else f"{start}."
