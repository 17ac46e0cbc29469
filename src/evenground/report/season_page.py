"""The page of the season: what the crop lived through, drawn once and counted by method."""

from __future__ import annotations

from evenground.basis.days import said_day
from evenground.decide.verdict_record import Verdict
from evenground.report.document import Bullets, Column, Figure, Heading, Paragraph, Part, Table
from evenground.report.pictures import SeasonDays
from evenground.report.season_picture import alternative, season_days
from evenground.report.wording import NONE, first_capital, listing, number, sentence
from evenground.season.heat import WAY_WORDS
from evenground.season.summary import SeasonSummary
from evenground.season.water_use import WaterUse

SEASON = "season"
WAY_UNITS = {"base_6": "°C d", "base_8": "°C d", "base_10_30": "°C d", "crop_heat_units": "units"}
COMPUTED = (
    "The water is computed from weather, soil and sowing day, not measured. Methods sown on one day in one soil get "
    "the same figures, unless their ground cover was scored on a crop walk: then they differ by what an eye saw, and "
    "are no surer than that. So this page shows how dry the season was, not how the methods differ."
)


def season_page(verdict: Verdict) -> tuple[Part, ...]:
    """Return the season page; nothing where no weather was recorded.

    Parameters
    ----------
    verdict : Verdict
        Its summary of the season is shown; nothing is computed again.
    """
    found = verdict.season_summary
    if found is None:
        return ()
    parts: list[Part] = [Heading("The season")]
    if found.sentence:
        parts.append(Paragraph(found.sentence, "lead"))
    if found.weather is not None:
        parts.append(Paragraph(found.weather.sentence))
    picture = season_days(found)
    if picture is not None:
        parts.append(season_figure(picture))
    parts += [Bullets(apart)] if (apart := tuple(s.sentence for s in found.same_heat if s.days_apart)) else []
    parts += [heat_table(found)] if found.heat else []
    parts += [water_table(found.water), Paragraph(COMPUTED, "small")] if found.water else []
    weak = weaker(found)
    parts += [Paragraph(f"Missing, or weaker because: {' '.join(weak)}", "small")] if weak else []
    return tuple(parts)


def season_figure(picture: SeasonDays) -> Figure:
    """Return crop, heat, water and rain on one time axis."""
    caption = ["Bars: rain of each day."]
    if None in picture.rain_mm:
        caption.append("A cross on the axis: no record that day.")
    if picture.water:
        caption.insert(
            0,
            "Available water: what the roots can still reach, in % of what the soil can hold for the crop "
            "(usable field capacity); 0 % is the wilting point.",
        )
    if picture.heat:
        caption.insert(0, f"Heat: degree days since each method's own sowing, {WAY_WORDS['base_6']}.")
    marks = "Marks on top: sowing and stages, reckoned from the heat since sowing"
    if not any(len(life.marks) > 1 for life in picture.lives):
        marks = "Marks on top: sowing"
    if picture.flowering:
        marks += "; the shaded weeks are those around flowering"
    return Figure(SEASON, picture, alternative(picture), " ".join((*caption, f"{marks}.")))


def heat_table(found: SeasonSummary) -> Table:
    """Return the heat sums by method, each since its own sowing."""
    until = f" to {said_day(found.known[1])}" if found.known else ""
    label = f"Hybrid: {found.earliness}, as given." if found.earliness else ""
    return Table(
        caption=f"Heat from each method's own sowing{until}",
        columns=(
            Column("Method", share=0.9),
            Column("Sown", share=1.3),
            *(Column(first_capital(words), WAY_UNITS[way], "right", share=1.5) for way, words in WAY_WORDS.items()),
        ),
        rows=tuple(
            (method, said_day(found.sown[method]), *(number(sums[way]) for way in WAY_WORDS))
            for method, sums in found.heat.items()
        ),
        note=label,
    )


def water_table(water: tuple[WaterUse, ...]) -> Table:
    """Return the water of every group of strips: what came, and how much was missing when."""
    return Table(
        caption="Water from sowing to harvest",
        columns=(
            Column("Method", share=1.4),
            Column("Rain", "mm", "right", share=0.8),
            Column("Irrigation", "mm", "right", share=1.1),
            Column("Water short", "mm", "right", share=1.1),
            Column("Short of water", "days", "right", share=1.0),
            Column("Water short around flowering", "mm", "right", share=1.6),
            Column("Short of water around flowering", "days", "right", share=1.6),
        ),
        rows=tuple(
            (
                _group(one, water),
                number(one.rain_mm),
                number(one.irrigation_mm),
                number(one.short_mm),
                str(one.short_days),
                number(one.flowering_short_mm),
                NONE if one.flowering_short_days is None else str(one.flowering_short_days),
            )
            for one in water
        ),
        note="Short: what an unstressed crop would have taken up more. A day counts from half a millimetre on.",
    )


def _group(one: WaterUse, water: tuple[WaterUse, ...]) -> str:
    """Name a group by its method, and by soil and strips where the method has several."""
    same = [w for w in water if w.strips.method == one.strips.method]
    if len(same) == 1:
        return one.strips.method
    strips = "strip" if len(one.strips.strips) == 1 else "strips"
    parts = [one.strips.method, one.strips.zone, f"{strips} {listing([str(s) for s in one.strips.strips])}"]
    return ", ".join(part for part in parts if part)


def weaker(found: SeasonSummary) -> tuple[str, ...]:
    """Return what is not known, was left out or replaced, one sentence each."""
    counted = {
        "rain_mm": "rain",
        "temperature_min_c": "the lowest temperature",
        "temperature_max_c": "the highest temperature",
    }
    gaps = [
        f"{words} is not recorded on {_days(found.missing[n])}" for n, words in counted.items() if found.missing.get(n)
    ]
    days = len({d.day for d in found.doubts})
    doubtful = f"doubtful values on {_days(days)} are left out of everything" if days else ""
    said = (*found.notes, *(note for one in found.water for note in one.notes), *gaps, doubtful)
    return tuple(dict.fromkeys(sentence(text) for text in said if text))


def _days(n: int) -> str:
    return "1 day" if n == 1 else f"{n} days"
