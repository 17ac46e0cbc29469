"""The second page: the strips in the field, the blocks side by side, and what the machine costs."""

from __future__ import annotations

from evenground.basis.field import Field
from evenground.decide.verdict_record import MethodVerdict, Verdict
from evenground.decide.worth import WayBudget
from evenground.report.document import Bullets, Column, Figure, Heading, PageBreak, Paragraph, Part, Table
from evenground.report.picture_data import block_lines, strip_label, strip_map
from evenground.report.wording import NONE, STATES, WAYS, first_capital, listing, must_reach, number, sentence

STRIP_MAP = "strip-map"


def field_page(verdict: Verdict, field: Field | None) -> tuple[Part, ...]:
    """Return the strip map, what happened to strips without a weight, the block lines and the money by way."""
    parts: list[Part] = [Heading("The strips in the field"), map_figure(verdict, field)]
    lost = lost_strips(verdict)
    if lost:
        parts.append(Bullets(lost))
    parts += [PageBreak(), Heading("Block by block"), blocks_figure(verdict), *_can_see(verdict)]
    parts += [PageBreak(), Heading("What the machine costs")]
    for method in verdict.methods:
        parts += [*ways_tables(method)]
    return tuple(parts)


def _can_see(verdict: Verdict) -> list[Part]:
    """Return what was said before sowing about the extra yield this layout can see."""
    if verdict.detectable_gain is None:
        return []
    seen = f"{number(verdict.detectable_gain, 1)} {verdict.plan.outcome.amount}/ha"
    when = "Nothing was said before sowing; reckoned now" if verdict.draw.told else "Said before sowing"
    return [Paragraph(f"{when}: the trial can see an extra yield of {seen}, four times in five.")]


def map_figure(verdict: Verdict, field: Field | None) -> Figure:
    """Return the strip map with the weight written in each strip."""
    picture = strip_map(verdict, field)
    written = ", ".join(f"strip {s.strip} (block {s.block}, {s.letter}) {s.label}" for s in picture.strips)
    names = listing([f"{letter} is {name}" for letter, name in picture.names])
    edge = " The thin line is the edge of the field and of ground left out." if picture.boundary else ""
    return Figure(
        name=STRIP_MAP,
        picture=picture,
        alt=f"Map of {len(picture.strips)} strips with what each gave in {picture.unit}: {written}.",
        caption=f"The number in each strip is what it gave, in {picture.unit}. {names}.{edge}",
    )


def lost_strips(verdict: Verdict) -> tuple[str, ...]:
    """Return one sentence for every strip without a weight or sown otherwise than drawn."""
    out = []
    for strip in verdict.harvest.strips:
        named = f"Strip {strip.strip} (block {strip.block}, {strip.method})"
        why = " ".join(sentence(note) for note in strip.notes)
        if strip.outcome is None:
            known = why or ("" if strip.state == "missing" else sentence(f"it was {STATES[strip.state]}"))
            said = "does not count" if strip.state == "other_product" else "has no weight"
            out.append(f"{named} {said}. {known}".strip())
        elif strip.method != strip.drawn_method:
            text = f"was drawn for {strip.drawn_method} but sown with {strip.method}; it counts as sown."
            out.append(f"{named} {text} {why}".strip())
    return tuple(out)


def blocks_figure(verdict: Verdict) -> Figure:
    """Return one line per block joining the methods."""
    picture = block_lines(verdict)
    said = "; ".join(
        f"block {block}: "
        + ", ".join(
            f"{letter} {strip_label(None) if value is None else number(value, 1)}"
            for letter, value in zip(picture.letters, values, strict=True)
        )
        for block, values in picture.blocks
    )
    return Figure(
        name="block-lines",
        picture=picture,
        alt=f"One line per block joining its methods, in {picture.unit}: {said}.",
        caption=(
            "One line per block: it joins the methods that stood side by side. Lines that all lean the same way "
            "speak for one method; lines that cross speak for the soil, the weather and chance."
        ),
    )


def ways_tables(method: MethodVerdict) -> tuple[Part, ...]:
    """Return the extra cost by way of getting the machine, side by side, with what each must reach."""
    budget = method.budget
    unit, per_ha = f"{budget.currency}/ha", f"{budget.amount}/ha"
    columns = (
        Column("Compared with the baseline", share=2.2),
        *(_way_column(way, counted=way == budget.chosen) for way in budget.ways),
    )
    rows = [
        (f"{first_capital(item)}, {unit}", *(_cost(way, item) for way in budget.ways)) for item in _items(budget.ways)
    ]
    rows += [
        (f"Extra cost, {unit}", *(number(way.extra_cost_per_ha) for way in budget.ways)),
        (f"Must reach to pay, {per_ha}", *(_must(way.worthwhile_gain) for way in budget.ways)),
        (
            f"Must reach in a year short of feed, {per_ha}",
            *(_must(way.worthwhile_gain_short_year) for way in budget.ways),
        ),
        (f"Must reach in a year with enough, {per_ha}", *(_must(way.worthwhile_gain_full_year) for way in budget.ways)),
        ("Cheaper than hiring from, ha a year", *(_break_even(way) for way in budget.ways)),
    ]
    values = (
        f"One more {budget.amount_words} counts {number(budget.value_short_year_per_t)} {budget.currency} in a year "
        f"short of feed and {number(budget.value_full_year_per_t)} {budget.currency} in a year with enough; "
        f"{number(budget.value_per_t)} {budget.currency} over both."
    )
    caption = f"{budget.method} against {budget.baseline}: cost by way of getting the machine"
    return (Table(caption, columns, tuple(rows)), Paragraph(values, "small"))


def _way_column(way: WayBudget, *, counted: bool) -> Column:
    return Column(WAYS[way.way], "counted in the verdict" if counted else "", "right", share=1.0)


def _items(ways: tuple[WayBudget, ...]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(line.item for way in ways for line in way.lines))


def _cost(way: WayBudget, item: str) -> str:
    found = [line.per_ha for line in way.lines if line.item == item]
    return number(sum(found), 1) if found else NONE


def _must(gain: float | None) -> str:
    """Write what must be reached without its unit, which stands in the row's name [t/ha]."""
    return NONE if gain is None else must_reach(gain, 2).removesuffix(" t/ha").removeprefix("+")


def _break_even(way: WayBudget) -> str:
    if way.way == "hire":
        return NONE
    return "never" if way.break_even_ha is None else number(way.break_even_ha)
