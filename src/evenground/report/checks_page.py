"""The last page: was it fair, what came off each strip, who paid, what it cannot say, how to compute it again."""

from __future__ import annotations

from evenground.basis.days import said_day
from evenground.basis.plan import PeopleSection
from evenground.decide.verdict_record import Provenance, Verdict
from evenground.fairness.check import Check
from evenground.fairness.checks import total_bias, without_size
from evenground.harvest.strips import Harvest, StripHarvest
from evenground.report.document import Bullets, Column, Fact, Facts, Heading, Note, Paragraph, Part, Table
from evenground.report.wording import (
    CHECK_STATES,
    NONE,
    STATES,
    first_capital,
    listing,
    number,
    percent,
    sentence,
    span,
)

NOT_SAID = "not said"
CONSENT = "ask everyone who is named in it, and those whose prices stand in it, before it is handed on."


def checks_page(verdict: Verdict) -> tuple[Part, ...]:
    """Return the page of checks and of what is needed to judge the report."""
    parts: list[Part] = [Heading("Was it a fair comparison?")]
    if verdict.weak_points:
        parts += [Paragraph("Weak points, the weakest first:"), Bullets(tuple(map(sentence, verdict.weak_points)))]
    if verdict.fairness:
        per_ha = f"{verdict.plan.outcome.amount}/ha"
        parts += [fairness_table(verdict.fairness, per_ha), Paragraph(sizes_together(verdict.fairness, per_ha))]
    parts += [Heading("What came off each strip"), harvest_table(verdict.harvest), *_harvest_notes(verdict.harvest)]
    parts += [Heading("Who paid, and what was agreed"), paid_facts(verdict.plan.people)]
    if verdict.plan.people.answers:
        parts.append(Bullets(tuple(map(sentence, verdict.plan.people.answers))))
    parts.append(Note("Before showing this report to others:", CONSENT))
    if verdict.cannot_say:
        parts += [Heading("What one season cannot say"), Bullets(tuple(map(sentence, verdict.cannot_say)))]
    parts += [Heading("What was fixed before the harvest"), *fixed_before(verdict)]
    return (*parts, Heading("How to compute it again"), again_facts(verdict.provenance))


def fixed_before(verdict: Verdict) -> tuple[Part, ...]:
    """Return what was fixed with the draw, and every later change, shown as later."""
    draw = verdict.draw
    if draw.told:
        text = (
            f"Nothing is on record as fixed before the harvest: the draw was told on {said_day(draw.drawn_at)}, with "
            "the words given above. Question, prices, assumptions and limits of the advice may have been set with the "
            "weights known."
        )
        later = (
            (Paragraph("Changed since it was told:"), Bullets(verdict.later_changes)) if verdict.later_changes else ()
        )
        return (Paragraph(text), *later)
    text = (
        "Question, outcome, worthwhile gain, assumptions, analysis and the limits of the advice were fixed with the "
        f"draw on {said_day(draw.drawn_at)} (plan sha256 {draw.plan_hash[:12]})."
    )
    if draw.plan_hash == verdict.provenance.plan_hash:
        return (Paragraph(text + " Nothing was changed since."),)
    if not verdict.later_changes:
        return (Paragraph(text + " The plan was changed since; what was changed is not on record."),)
    return (Paragraph(text + " Changed later:"), Bullets(verdict.later_changes))


def fairness_table(checks: tuple[Check, ...], per_ha: str = "t/ha") -> Table:
    """Return what should have been alike for all methods, and whether it was."""
    return Table(
        caption="What should have been alike for all methods",
        columns=(
            Column("Looked at", share=2.2),
            Column("Found", share=3.6),
            Column("Could move the extra yield by", per_ha, share=2.2),
            Column("Why it matters, and what to do", share=4.4),
        ),
        rows=tuple(
            (
                f"{first_capital(check.item)}{_of(check, checks)}: {CHECK_STATES[check.state]}",
                first_capital(check.found) or NONE,
                _bias(check),
                " ".join(sentence(text) for text in (check.why, check.action) if text),
            )
            for check in checks
        ),
    )


def sizes_together(checks: tuple[Check, ...], per_ha: str = "t/ha") -> str:
    """Say how far all that differed together could have moved each extra yield, and what is not in it.

    Parameters
    ----------
    checks : tuple of Check
        Of all methods.
    per_ha : str
        Unit of the sizes.
    """
    sized = {c.method: None for c in checks if c.state == "differs" and c.bias_t_per_ha and not c.part_of_question}
    if sized:
        totals = [f"{m} {span(total_bias(checks, m), 2)}" if m else span(total_bias(checks), 2) for m in sized]
        text = f"If all of it bit, the extra yield would be off by, in {per_ha}: {'; '.join(totals)}."
    else:
        text = "Nothing that differs has a known size."
    unsized = dict.fromkeys(c.item for c in without_size(checks))
    return f"{text} Not in it, because no size is known: {', '.join(unsized)}." if unsized else text


def _of(check: Check, checks: tuple[Check, ...]) -> str:
    """Name the method where several were held against the baseline."""
    return f" ({check.method})" if check.method and len({one.method for one in checks}) > 1 else ""


def _bias(check: Check) -> str:
    if check.part_of_question:
        return "part of the question"
    if check.bias_t_per_ha is None:
        return NONE if check.state == "alike" else f"size not known ({check.source})"
    return f"{span(check.bias_t_per_ha, 2)} ({check.source})"


def harvest_table(harvest: Harvest) -> Table:
    """Return every drawn strip with area, mass, dry matter, outcome and notes."""
    return Table(
        caption="Strip by strip",
        columns=(
            Column("Strip", "", "right", share=0.8),
            Column("Block", "", "right", share=0.8),
            Column("Method", share=1.1),
            Column("Weighed cut", "ha", "right", share=1.2),
            Column("Fresh", "t", "right", share=0.9),
            Column("Dry matter", "", "right", share=1.2),
            Column("Outcome", harvest.unit, "right", share=1.5),
            Column("Notes", share=4.6),
        ),
        rows=tuple(_harvest_row(strip) for strip in harvest.strips),
    )


def _harvest_row(strip: StripHarvest) -> tuple[str, ...]:
    sown = strip.method if strip.method == strip.drawn_method else f"{strip.method} (drawn {strip.drawn_method})"
    return (
        str(strip.strip),
        str(strip.block),
        sown,
        number(strip.cut_area_m2 / 1e4, 4) + ("" if strip.area_source == "geometry" else f" ({strip.area_source})"),
        number(strip.fresh_t, 2),
        percent(strip.dry_matter_fraction, 1),
        number(strip.outcome, 2),
        _notes(strip),
    )


def _notes(strip: StripHarvest) -> str:
    notes = [sentence(note) for note in strip.notes]
    if strip.state != "weighed":
        notes.insert(0, f"{first_capital(STATES[strip.state])}.")
    if strip.shares_sample_with and not any("dry-matter" in note for note in notes):
        others = listing([str(other) for other in strip.shares_sample_with])
        plural = "s" if len(strip.shares_sample_with) > 1 else ""
        notes.append(f"Dry-matter figure shared with strip{plural} {others}.")
    return " ".join(dict.fromkeys(notes)) or NONE


def _harvest_notes(harvest: Harvest) -> list[Part]:
    shared = tuple(
        f"One dry-matter figure ({percent(one.dry_matter_fraction, 1)}) serves strips "
        f"{listing([str(s) for s in one.strips])}; its sampling error, {number(100 * one.sd_fraction, 2)} points "
        f"({one.sd_source}), enters the extra yield as one common error."
        for one in harvest.shared
    )
    said = (*shared, *map(sentence, harvest.notes))
    return [Bullets(said)] if said else []


def paid_facts(people: PeopleSection) -> Facts:
    """Return who paid; what nobody filled in is "not said"."""
    rows = [
        Fact("Seed", people.paid_seed or NOT_SAID),
        Fact("Machine", people.paid_machine or NOT_SAID),
        Fact("Laboratory", people.paid_laboratory or NOT_SAID),
    ]
    if not people.answers:
        rows.append(Fact("Agreed before the draw", NOT_SAID))
    return Facts(tuple(rows))


def again_facts(origin: Provenance) -> Facts:
    """Return what is needed to compute the verdict again to the last printed digit."""
    seeds = ", ".join(f"{purpose} {seed}" for purpose, seed in origin.seeds.items()) or "none used"
    return Facts(
        (
            Fact("Program", f"evenground {origin.version}, computed on {said_day(origin.day)}"),
            Fact("Command", "evenground report, given the trial folder with the plan and records of these hashes"),
            Fact("Plan, sha256", origin.plan_hash),
            Fact("Records, sha256", origin.records_hash),
            *(Fact(f"{name}, sha256", digest) for name, digest in origin.files.items()),
            Fact("Seeds", seeds),
        )
    )
