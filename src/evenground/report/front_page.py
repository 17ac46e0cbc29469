"""The first page: what was seen, how sure that is, what it is worth, what to do next."""

from __future__ import annotations

from evenground.decide.verdict_record import MethodVerdict, Verdict
from evenground.report.document import Column, Fact, Facts, Figure, Heading, Note, PageBreak, Paragraph, Part, Table
from evenground.report.picture_data import twenty_dots
from evenground.report.pictures import TwentyDots
from evenground.report.wording import ACTIONS, must_reach, number, of_twenty, sentence, signed

# The fixed order of the six sentences: what each one answers.
QUESTIONS = ("Seen", "How far off", "To pay", "Out of 20", "Weakest point", "Next")


def front_page(verdict: Verdict) -> tuple[Part, ...]:
    """Return the first page; with several methods each has its own piece, best expected net first."""
    parts: list[Part] = [Heading("The verdict"), Paragraph(verdict.headline, "lead")]
    parts += map(Paragraph, verdict.not_compared.values())
    several = len(verdict.methods) > 1
    for place, method in enumerate(verdict.methods):
        if place:
            parts.append(PageBreak())
        if several:
            one = method.comparison
            parts.append(Heading(f"{one.method} against {one.baseline}: {_name(verdict, one.method)}", 3))
        parts += _method(verdict, method)
        if not place and verdict.factor_sentences:
            parts += [Heading("Each of the two things compared", 3), *map(Paragraph, verdict.factor_sentences)]
    return tuple(parts)


def _method(verdict: Verdict, method: MethodVerdict) -> list[Part]:
    return [answers(method.sentences), dots_figure(verdict, method), money_table(verdict, method), _advice(method)]


def _name(verdict: Verdict, letter: str) -> str:
    return next(m.name for m in verdict.plan.methods if m.letter == letter)


def answers(sentences: tuple[str, ...]) -> Facts:
    """Return the plain sentences, each with the question it answers where there are exactly six of them."""
    if len(sentences) != len(QUESTIONS):
        return Facts(tuple(Fact("", sentence(text)) for text in sentences), "answers")
    pairs = zip(QUESTIONS, sentences, strict=True)
    return Facts(tuple(Fact(question, _without(question, text)) for question, text in pairs), "answers")


def _without(question: str, text: str) -> str:
    """Return the sentence without a lead-in that repeats the question beside it."""
    return sentence(text.removeprefix(f"{question}:"))


def dots_figure(verdict: Verdict, method: MethodVerdict) -> Figure:
    """Return the twenty dots along the extra yield, with the line it must reach."""
    dots = twenty_dots(verdict, method)
    return Figure(
        name=f"dots-{dots.method}",
        picture=dots,
        alt=_dots_alt(dots),
        caption=(
            f"Each mark is one of 20 equally likely values of what {dots.method} gives over the years, compared with "
            f"{dots.baseline}, in {dots.unit}. Round and filled: it would pay. Square and open: it would not."
        ),
    )


def _dots_alt(dots: TwentyDots) -> str:
    start = (
        f"Twenty marks along the extra yield of {dots.method} over {dots.baseline}, from {signed(dots.gains[0])} to "
        f"{signed(dots.gains[-1])} {dots.unit}."
    )
    must = must_reach(dots.pays_from, amount=dots.amount)
    return f"{start} To pay: {must}. {dots.paying} of 20 would pay, {20 - dots.paying} would not."


def money_table(verdict: Verdict, method: MethodVerdict) -> Table:
    """Return best, likely and worst money on this farm; sums for the whole farm are rounded to tens."""
    money, budget, area = method.money, method.budget, verdict.plan.money.area_ha
    low, high = method.comparison.posterior.mu.interval(money.level)
    likely = method.comparison.posterior.mu.mean
    rows = (
        ("Best", signed(high), signed(money.best, 0), signed(round(money.best_farm, -1), 0)),
        ("Likely", signed(likely), signed(money.likely, 0), signed(round(money.likely_farm, -1), 0)),
        ("Worst", signed(low), signed(money.worst, 0), signed(round(money.worst_farm, -1), 0)),
    )
    one = method.comparison
    return Table(
        caption=f"What {one.method} is worth on this farm, after its extra cost",
        columns=(
            Column("If it turns out"),
            Column("Extra yield", f"{budget.amount}/ha", "right"),
            Column("Left over", f"{budget.currency}/ha", "right"),
            Column(f"On {number(area, 0 if area == int(area) else 1)} ha", f"{budget.currency} a year", "right"),
        ),
        rows=rows,
        note=(
            f"Extra cost {number(budget.chosen.extra_cost_per_ha)} {budget.currency}/ha; one more "
            f"{budget.amount_words} is worth {number(budget.value_per_t)} {budget.currency}, short and full years "
            "together. "
            f"{round(20 * (1 - money.level) / 2)} of 20 results like this would be below worst, as many above best; "
            f"{of_twenty(money.chance_of_loss)} of 20 would lose money."
        ),
    )


def _advice(method: MethodVerdict) -> Note:
    return Note(f"{ACTIONS[method.advice.action]}.", sentence(method.advice.reason))
