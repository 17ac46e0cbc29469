"""Takes the picture of the season out of its summary: crop, heat, water in the ground and rain on one time axis."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from evenground.basis.days import said_day
from evenground.report.pictures import CropLife, HeatLine, SeasonDays, StageMark, WaterLine
from evenground.report.wording import STAGE_WORDS, listing, number
from evenground.season.daily import Daily
from evenground.season.summary import SeasonSummary
from evenground.season.water_use import WaterUse, longest_of

MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
          "December")  # fmt: skip
SOWN = "sown"


def season_days(found: SeasonSummary) -> SeasonDays | None:
    """Return rain, water and stages from the first sowing to harvest; None where there is nothing to draw.

    Parameters
    ----------
    found : SeasonSummary
        Of the trial; its days are those of the axis.
    """
    if found.days is None:
        return None
    letters = tuple(sorted(found.sown))
    windows = [w.flowering for w in found.water if w.flowering is not None]
    return SeasonDays(
        first=found.days.first,
        rain_mm=tuple(None if mm != mm else mm for mm in found.days["rain_mm"].tolist()),  # noqa: PLR0124 (NaN)
        water=_water_lines(found.water),
        lives=_lives(found, letters, found.days),
        flowering=(min(a for a, _ in windows), max(b for _, b in windows)) if windows else None,
        harvest=found.weather.last if found.weather and found.weather.harvested else None,
        letters=letters,
        heat=_heat_lines(found, found.days),
    )


def _heat_lines(found: SeasonSummary, days: Daily) -> tuple[HeatLine, ...]:
    """One line a method, up to the last day shown; methods with the same heat share one."""
    lines: dict[tuple[date, tuple[float, ...]], list[str]] = {}
    for method in sorted(found.heat_by_day):
        first = found.sown[method]
        shown = found.heat_by_day[method][: (days.last - first).days + 1]
        lines.setdefault((first, shown), []).append(method)
    return tuple(HeatLine(tuple(methods), first, sums) for (first, sums), methods in lines.items() if sums)


def _water_lines(water: Sequence[WaterUse]) -> tuple[WaterLine, ...]:
    """One line a method, of its largest group of strips; methods with the same water share one."""
    lines: dict[tuple[date, tuple[float, ...]], list[str]] = {}
    for method in sorted({w.strips.method for w in water}):
        one = longest_of([w for w in water if w.strips.method == method])
        values = tuple((100.0 * one.balance.available_fraction).tolist())
        lines.setdefault((one.first, values), []).append(method)
    return tuple(WaterLine(tuple(methods), first, values) for (first, values), methods in lines.items())


def _lives(found: SeasonSummary, letters: tuple[str, ...], days: Daily) -> tuple[CropLife, ...]:
    """Sowing and the stages that lie within the days shown; methods that share all of them share one line."""
    lives: dict[tuple[StageMark, ...], list[str]] = {}
    for letter in letters:
        marks = [StageMark(SOWN, found.sown[letter], found.sown[letter])]
        for stage in (s for s in found.stages if s.method == letter):
            if stage.first is not None and stage.first <= days.last:
                marks.append(StageMark(STAGE_WORDS[stage.stage], stage.first, min(stage.last or days.last, days.last)))
        lives.setdefault(tuple(marks), []).append(letter)
    return tuple(CropLife(tuple(methods), marks) for marks, methods in lives.items())


def alternative(picture: SeasonDays) -> str:
    """Say the season for someone who cannot see the picture: rain by month, heat, water, stages.

    Parameters
    ----------
    picture : SeasonDays
        What is drawn.
    """
    lives = "; ".join(f"{listing(life.letters)} {_marks(life)}" for life in picture.lives)
    lowest = "".join(f" Available water of {listing(line.letters)} {_ends(line)}." for line in picture.water)
    warm = "".join(
        f" Heat since sowing of {listing(line.letters)} {number(line.degree_days[-1])} °C d." for line in picture.heat
    )
    end = f" Harvest ended on {said_day(picture.harvest)}." if picture.harvest else ""
    return f"The season on one time axis. Rain by month: {_by_month(picture)}.{warm}{lowest} Crop: {lives}.{end}"


def _by_month(picture: SeasonDays) -> str:
    """Rain by month [mm]; months are named once a year, as in a season that spans two years."""
    start = picture.first.toordinal()
    months: dict[tuple[int, int], list[float | None]] = {}
    for i, mm in enumerate(picture.rain_mm):
        day = date.fromordinal(start + i)
        months.setdefault((day.year, day.month), []).append(mm)
    said = []
    for (_, month), values in months.items():
        known = [mm for mm in values if mm is not None]
        missing = len(values) - len(known)
        text = f"{MONTHS[month - 1]} {number(sum(known))} mm" if known else f"{MONTHS[month - 1]} no record"
        said.append(
            text + (f" ({missing} {'day' if missing == 1 else 'days'} without record)" * bool(missing and known))
        )
    return ", ".join(said)


def _ends(line: WaterLine) -> str:
    low = min(range(len(line.percent)), key=line.percent.__getitem__)
    day = date.fromordinal(line.first.toordinal() + low)
    return (
        f"began at {number(line.percent[0])} % of usable field capacity, was lowest on {said_day(day)} at "
        f"{number(line.percent[low])} % and ended at {number(line.percent[-1])} %"
    )


def _marks(life: CropLife) -> str:
    return ", ".join(
        f"{mark.name} {said_day(mark.first)}" + (f" to {said_day(mark.last)}" if mark.last != mark.first else "")
        for mark in life.marks
    )
