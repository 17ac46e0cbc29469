"""What the picture of a border shows: places and line of both sides, the step, and the range it leaves open."""

from __future__ import annotations

from evenground.fairness.border import BorderAnswer
from evenground.numerics.border_step import BorderStep
from evenground.numerics.t_distribution import quantile
from evenground.report.document import Figure
from evenground.report.pictures import BorderPoints, BorderSide
from evenground.report.wording import number, percent, signed, span

NAME = "border"


def border_figure(answer: BorderAnswer, letters: tuple[str, ...]) -> Figure:
    """Return the yields of both sides against the distance from the border, the step, and its range.

    Parameters
    ----------
    answer : BorderAnswer
        Nothing is computed again.
    letters : tuple of str
        All methods of the trial.
    """
    picture = border_points(answer, letters)
    return Figure(NAME, picture, _alt(answer, picture), _caption(answer))


def border_points(answer: BorderAnswer, letters: tuple[str, ...]) -> BorderPoints:
    """Return both sides as they are drawn.

    Parameters
    ----------
    answer, letters
        As `border_figure`.
    """
    first, second = (
        _side(answer.fit, place, letter, answer.level)
        if answer.fit is not None
        else BorderSide(letter, (), answer.weights[place], ())
        for place, letter in enumerate((answer.baseline, answer.method))
    )
    return BorderPoints(first, second, answer.step, answer.interval, answer.unit, letters)


def _side(fit: BorderStep, place: int, letter: str, level: float) -> BorderSide:
    mine = (fit.near.depth > 0) == bool(place)
    reach = quantile(0.5 + level / 2.0, fit.df)
    line = zip(fit.lines.depth[place], fit.lines.fitted[place], fit.lines.standard_error[place], strict=True)
    return BorderSide(
        letter,
        tuple(float(d) for d in fit.near.depth[mine]),
        tuple(float(v) for v in fit.near.columns[mine, 0]),
        tuple((float(d), float(height), float(reach * error)) for d, height, error in line),
    )


def _alt(answer: BorderAnswer, picture: BorderPoints) -> str:
    sides = (picture.first, picture.second)
    if answer.fit is None:
        shown = "; ".join(f"{s.letter} {', '.join(number(v, 2) for v in s.value[:12])}" for s in sides)
        start = f"Weights of both areas in {answer.unit}: {shown}."
    else:
        ends = [(s.line[-1] if s is picture.first else s.line[0])[1] for s in sides]
        start = (
            f"Yields of {len(picture.first.value)} places of {picture.first.letter} and {len(picture.second.value)} of "
            f"{picture.second.letter}, up to {number(answer.fit.bandwidth, 0)} m from the border. The lines meet the "
            f"border at {number(ends[0], 2)} and {number(ends[1], 2)} {answer.unit}."
        )
    return (
        f"{start} Step {signed(answer.step, 2)}; the method's own part lies from {span(answer.interval, 2)} "
        f"{answer.unit}, and that range is at least this wide."
    )


def _caption(answer: BorderAnswer) -> str:
    below = (
        "Below: the step, and the range in which the method's own part lies; the range is at least this wide "
        f"({percent(answer.level)}), because ground, date and machine may have made the step too."
    )
    if answer.fit is None:
        return f"Above: the weights of both areas, each with its mean. {below}"
    return (
        "Above: each mark is the yield of one place, by its distance from the border; the line is drawn through them, "
        "the pale band is how far the line itself may lie off, and it knows nothing of how far neighbouring ground "
        f"differs. {below}"
    )
