"""The page of sowing and stand: what each machine was set to, how the strips were really sown, how the crop stood."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from evenground.decide.sown_and_stood import SownAndStood
from evenground.decide.verdict_record import Verdict
from evenground.report.adviser_page import side_table
from evenground.report.document import Bullets, Column, Heading, Paragraph, Part, Table
from evenground.report.wording import NONE, number, percent, sentence, signed
from evenground.sowing.settings import MethodSettings, settings
from evenground.sowing.sown_strips import SownStrip, in_sentences
from evenground.stand.row_units import ODD, RowUnit
from evenground.stand.summary import StandSummary

Said = Callable[[MethodSettings], str]
SETTINGS: tuple[tuple[str, Said], ...] = (
    ("Planter", lambda s: s.machine),
    ("Row spacing, cm", lambda s: number(100 * s.row_spacing_m, 1)),
    ("Lines in a row", lambda s: str(s.lines_per_row)),
    ("Seeds/m²", lambda s: number(s.seeds_per_m2, 2)),
    ("Seed to seed in the line, cm", lambda s: number(100 * s.in_line_spacing_m, 1)),
    ("Depth, cm", lambda s: number(s.depth_cm, 1)),
    ("Speed, km/h", lambda s: number(s.speed_km_per_h, 1)),
    ("Kernels a second and metering unit", lambda s: number(s.kernels_per_second, 1)),
    ("Starter, kg/ha", lambda s: number(s.starter_kg_per_ha)),
)
AS_DRAWN = "Every strip was sown as drawn."


def stand_page(verdict: Verdict) -> tuple[Part, ...]:
    """Return the page of sowing and stand; nothing where neither settings, sowing nor stand were told.

    Parameters
    ----------
    verdict : Verdict
        Its summary of sowing and stand is shown.
    """
    found = verdict.sown_and_stood
    told = verdict.plan.trial.settings_told
    if found is None or not (told or _anything(found)):
        return ()
    parts: list[Part] = [Heading("Sowing and stand")]
    if told:
        parts += [_settings(settings(verdict.plan, verdict.draw))]
    parts += [*_as_sown(found.as_sown), *_stand(found.stand)]
    if found.differences:
        parts.append(side_table(found.differences, "How the stands differ, the strip as the unit"))
    return tuple(parts)


def _anything(found: SownAndStood) -> bool:
    counted = any(s.counts for s in found.stand.stand.strips)
    return counted or bool(found.stand.spacings or found.stand.depths) or any(s.entries for s in found.as_sown)


def _settings(found: Sequence[MethodSettings]) -> Table:
    rows = tuple((label, *(say(s) for s in found)) for label, say in SETTINGS)
    names = (Column(f"{s.method}: {s.name}", share=1.4) for s in found)
    note = "Everything that differs besides what the trial asks stands under what should have been alike."
    return Table("What each method was set to", (Column("Setting", share=1.6), *names), rows, note)


def _as_sown(strips: Sequence[SownStrip]) -> list[Part]:
    said = tuple(sentence(text) for text in in_sentences(strips))
    if said:
        return [Heading("As sown", 3), Bullets(said)]
    return [Paragraph(AS_DRAWN)] if any(s.entries for s in strips) else []


def _stand(found: StandSummary) -> list[Part]:
    """Return the stand by method and the row units that lie off the others; columns nobody filled are left out."""
    stages = {m.method: m for m in found.method_stages}
    spacing = {m.method: m for m in found.method_spacings}
    depth = {m.method: m for m in found.method_depths}
    rows = []
    for m in found.stand.methods:
        stage, run, dug = stages.get(m.method), spacing.get(m.method), depth.get(m.method)
        rows.append(
            (
                m.method,
                number(m.expected_plants_per_m2, 1),
                number(m.plants_per_m2, 1),
                number(stage.after_last_hoeing, 1) if stage else NONE,
                percent(stage.late_fraction, 1) if stage else NONE,
                *((percent(v) for v in (run.quality_of_feed, run.misses, run.multiples)) if run else (NONE,) * 3),
                number(dug.mean_cm, 1) if dug else NONE,
            )
        )
    heads = (
        ("Method", ""), ("Plants expected", "per m²"), ("Counted", "per m²"), ("After the last hoeing", "per m²"),
        ("Late", ""), ("Spaced right", ""), ("Misses", ""), ("Doubles", ""), ("Depth found", "cm"),
    )  # fmt: skip
    kept = [i for i in range(len(heads)) if i < 2 or any(row[i] != NONE for row in rows)]
    if len(kept) == 2:
        return []
    columns = tuple(Column(*heads[i], "left" if i == 0 else "right") for i in kept)
    note = "Spaced right: a gap of half to one and a half times the one wanted (ISO 7256-1: quality of feed)."
    table = Table(
        "How the crop stood: means of the strips",
        columns,
        tuple(tuple(row[i] for i in kept) for row in rows),
        note if found.method_spacings else "",
    )
    return [table, *_units(found.row_units)]


def _units(units: Sequence[RowUnit]) -> list[Part]:
    counted = [u for u in units if u.plants_per_m2 is not None]
    odd = tuple(
        f"{u.method}, row unit {u.row_unit}: {u.state}, {signed(100 * (u.ratio - 1), 0)} % against the others."
        for u in counted
        if u.state in ODD and u.ratio is not None
    )
    if odd:
        return [Heading("Row units that lie off the others", 3), Bullets(odd)]
    return [Paragraph(f"{len(counted)} row units were counted; none lies off the others.")] if counted else []
