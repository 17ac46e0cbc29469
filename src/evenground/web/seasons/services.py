"""What changes in the season: a station's weather becomes records; yields beside a border are kept."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from evenground.adapters.border_file import BORDER_FILE, read_border_folder
from evenground.adapters.number_style import STYLES
from evenground.adapters.weather_file import WeatherFile, misplaced, parse_weather
from evenground.adapters.weather_store import weather_records
from evenground.basis.observations import WeatherDay
from evenground.season.quality import Doubt, doubts
from evenground.season.sowings import first_sowing
from evenground.season.summary import season_days
from evenground.web.trial_view import Opened
from evenground.web.trials.models import TrialFile
from evenground.web.trials.weather_years import keep_trial_years


@dataclass(frozen=True)
class WeatherRead:
    """A weather file as read, before anything of it is kept.

    Attributes
    ----------
    read : WeatherFile
        Its days.
    doubted : tuple of Doubt
        Values nobody should build on yet, of the season's days.
    new : list of WeatherDay
        Records that would bring the trial's weather up to it.
    notes : tuple of str
        What to know.
    first : date
        First day of the season; days before it are of earlier years.
    """

    read: WeatherFile
    doubted: tuple[Doubt, ...]
    new: list[WeatherDay]
    notes: tuple[str, ...]
    first: date

    @property
    def earlier_days(self) -> int:
        """Days of earlier years [d]."""
        return max((self.first - self.read.weather.first).days, 0)


def read_weather(
    *, opened: Opened, data: bytes, file: str, number_style: str = "", date_style: str = ""
) -> WeatherRead:
    """Read a station's weather file against the trial's season; nothing is stored.

    Raises
    ------
    InputError
        With every problem found.
    """
    read = parse_weather(data, file, number_style=STYLES.get(number_style), date_style=date_style or None)
    stored, place = opened.stored, opened.centre
    found = doubts(read.weather, place[0] if place else None)
    sown = first_sowing(stored.draw, stored.records.events) if stored.draw is not None else {}
    first, last = season_days(stored.plan.trial.season, sown)
    new = weather_records(read.weather, (first, last), stored.records.weather, found, file)
    notes = (*read.notes, *misplaced(read, file, stored.plan.trial.season, place))
    return WeatherRead(read, tuple(d for d in found if first <= d.day <= last), new, notes, first)


def keep_weather(*, opened: Opened, read: WeatherRead) -> int:
    """Store the days of the season as records and keep those of earlier years beside them; return the new records.

    Raises
    ------
    InputError
        If a day contradicts what is stored, or the earlier years kept so far cannot be read.
    """
    new = opened.store.append_records(read.new)
    keep_trial_years(trial=opened.trial, weather=read.read.weather, before=read.first)
    return new


def keep_border(*, opened: Opened, data: bytes, number_style: str = "") -> None:
    """Keep a table of yields or weights beside a border as `border.csv`, after reading it.

    Raises
    ------
    InputError
        With every problem found; nothing is kept then.
    """
    # Beside the areas or places that are known already: they may say the method of rows that do not.
    with opened.store.as_folder() as folder:
        (folder / BORDER_FILE).write_bytes(data)
        read_border_folder(folder, opened.stored.field, (), number_style=STYLES.get(number_style))
    TrialFile.objects.update_or_create(trial=opened.trial, path=BORDER_FILE, defaults={"content": data})
