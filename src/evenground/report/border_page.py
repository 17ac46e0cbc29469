"""The report of a comparison that was never randomised: cannot tell, what was seen, what explains it, what next."""

from __future__ import annotations

from evenground.basis.days import said_day
from evenground.decide.border_verdict import BorderVerdict
from evenground.fairness.border import BorderAnswer
from evenground.fairness.explanations import Explanation
from evenground.report.border_picture import border_figure
from evenground.report.build import INVENTED
from evenground.report.checks_page import CONSENT, again_facts, paid_facts
from evenground.report.document import (
    Bullets,
    Column,
    Document,
    Heading,
    Note,
    PageBreak,
    Paragraph,
    Part,
    Table,
)
from evenground.report.for_readers import parts_for_readers
from evenground.report.front_page import answers
from evenground.report.wording import CHECK_STATES, NONE, first_capital, number, percent, sentence, signed, span

NEVER_DRAWN = "Nobody drew which method goes where. Whatever else differs between the two areas is in the figures too."
AT_LEAST = "at least this wide, because what differs and has no size stays outside"


def border_document(found: BorderVerdict) -> Document:
    """Return the report on a border as a document tree.

    Parameters
    ----------
    found : BorderVerdict
        Everything that was computed; nothing is computed again here.
    """
    trial = found.plan.trial
    return Document(
        title=f"{trial.name}, {trial.season}",
        subtitle=" · ".join(text for text in (trial.farm, trial.question) if text),
        language="en",
        banner=INVENTED if trial.invented else "",
        footer=f"evenground {found.provenance.version} · {said_day(found.provenance.day)}",
        parts=parts_for_readers((*border_parts(found), PageBreak(), *_last(found))),
    )


def border_parts(found: BorderVerdict) -> tuple[Part, ...]:
    """Return what can be said of a border: the verdict, the picture, what explains it, the adviser's numbers.

    Parameters
    ----------
    found : BorderVerdict
        Everything that was computed.
    """
    return (*_first(found), *_adviser(found.answer))


def _first(found: BorderVerdict) -> tuple[Part, ...]:
    return (
        Heading("The verdict"),
        Paragraph(found.headline, "lead"),
        answers(found.sentences),
        Note("Never randomised:", NEVER_DRAWN),
        border_figure(found.answer, found.plan.letters),
        explanations_table(found.answer),
    )


def explanations_table(answer: BorderAnswer) -> Table:
    """Return what besides the method could have made the step, sized or not."""
    return Table(
        caption="What could explain the step",
        columns=(
            Column("What", share=1.8),
            Column("Found", share=3.4),
            Column("Could be", "t/ha", "right", share=1.4),
            Column("Where the size comes from", share=3.6),
        ),
        rows=tuple(_explained(one) for one in answer.explanations),
    )


def _explained(one: Explanation) -> tuple[str, ...]:
    size = "size not known" if one.bias_t_per_ha is None else span(one.bias_t_per_ha, 2)
    source = sentence(one.source) if one.bias_t_per_ha is not None else NONE
    return (f"{first_capital(one.item)}: {CHECK_STATES[one.state]}", sentence(one.found), size, source)


def _adviser(answer: BorderAnswer) -> tuple[Part, ...]:
    parts: list[Part] = [Heading("For the adviser"), numbers_table(answer)]
    parts += [nearby_table(answer)] if answer.spread.own else []
    parts += [distances_table(answer)] if answer.sensitivity else []
    parts += [pieces_table(answer)] if answer.fit is not None and len(answer.fit.pair_differences) else []
    if answer.earlier is not None:
        parts += [Heading("Earlier yields of the same places", 3), Paragraph(sentence(answer.earlier.sentence))]
    parts += [next_table(answer)] if any(n.detectable_t_per_ha is not None for n in answer.next_year) else []
    return (*parts, *((Bullets(tuple(map(sentence, answer.notes))),) if answer.notes else ()))


def numbers_table(answer: BorderAnswer) -> Table:
    """Return step, errors and ranges."""
    error = NONE if answer.step_standard_error is None else number(answer.step_standard_error, 2)
    rows = (
        (f"Step, {answer.method} minus {answer.baseline}", signed(answer.step, 2)),
        ("Standard error of the step itself", error),
        ("Steps between neighbouring pieces sown alike, standard deviation", number(answer.placebo_sd, 2)),
        ("Range before known differences are taken off", span(answer.interval_without_explanations, 2)),
        (f"Range, {AT_LEAST}", span(answer.interval, 2)),
        ("Mean yield", number(answer.mean_t_per_ha, 2)),
    )
    return Table(
        caption=f"The step at the border; ranges at {percent(answer.level)}",
        columns=(Column("What", share=3.0), Column("Value", answer.unit, "right", share=1.2)),
        rows=rows,
        note=f"Spread of steps: {number(answer.spread.percent, 1)} % of the mean, worth {number(answer.spread.df, 1)} "
        f"degrees of freedom; {answer.spread.source}. No p-value: nothing was dealt out by chance.",
    )


def nearby_table(answer: BorderAnswer) -> Table:
    """Return the steps found in this field where both sides were sown alike."""
    return Table(
        caption="Steps of this field between pieces sown alike",
        columns=(
            Column("Yields of", share=2.0),
            Column("Line lies from the border", "m", "right", share=1.4),
            Column("Step", "%", "right", share=1.0),
        ),
        rows=tuple(
            (first_capital(one.layer), signed(one.from_border_m, 0), signed(one.percent, 1))
            for one in answer.spread.own
        ),
    )


def distances_table(answer: BorderAnswer) -> Table:
    """Return the step with points up to other distances from the border."""
    return Table(
        caption="The step with points up to other distances",
        columns=(Column("Up to", "m", "right"), Column("Step", answer.unit, "right")),
        rows=tuple((number(distance), signed(step, 2)) for distance, step in answer.sensitivity),
    )


def pieces_table(answer: BorderAnswer) -> Table:
    """Return both sides' difference piece by piece along the border."""
    pairs = () if answer.fit is None else tuple(float(d) for d in answer.fit.pair_differences)
    return Table(
        caption="Piece by piece along the border",
        columns=(Column("Piece"), Column("Difference", answer.unit, "right")),
        rows=tuple((str(i), signed(difference, 2)) for i, difference in enumerate(pairs, start=1)),
        note="Pieces of one border show its unevenness; they are not replicates of the method.",
    )


def next_table(answer: BorderAnswer) -> Table:
    """Return what strips dealt out by chance would see next year."""
    known = [n for n in answer.next_year if n.detectable_t_per_ha is not None]
    return Table(
        caption="What strips drawn at random next year would see, four times in five",
        columns=(Column("Blocks"), Column("Extra yield", "t/ha", "right")),
        rows=tuple((str(n.blocks), number(n.detectable_t_per_ha, 2)) for n in known),
        note=f"Strip error: {known[0].source}.",
    )


def _last(found: BorderVerdict) -> tuple[Part, ...]:
    people = found.plan.people
    agreed: tuple[Part, ...] = (Bullets(tuple(map(sentence, people.answers))),) if people.answers else ()
    return (
        Heading("Who paid, and what was agreed"),
        paid_facts(people),
        *agreed,
        Note("Before showing this report to others:", CONSENT),
        Heading("How to compute it again"),
        again_facts(found.provenance),
    )
