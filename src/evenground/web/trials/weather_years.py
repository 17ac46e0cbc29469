"""Weather of earlier years that lies beside a trial of the database."""

from __future__ import annotations

import hashlib
from datetime import date

from evenground.adapters.weather_years import YEARS_FILE, years_of, years_text
from evenground.season.daily import Daily, Years
from evenground.web.memory import Kept
from evenground.web.trials.models import Trial, TrialFile

MOST_KEPT = 16
KEPT: Kept[Years] = Kept(MOST_KEPT)


def trial_years(trial: Trial) -> Years | None:
    """Return the weather of earlier years, read once as long as it stays the same; None where there is none.

    Parameters
    ----------
    trial : Trial
        The trial.

    Raises
    ------
    InputError
        If the file cannot be read.
    """
    file = TrialFile.objects.filter(trial=trial, path=YEARS_FILE).first()
    if file is None:
        return None
    data = bytes(file.content)
    return KEPT.get((hashlib.sha256(data).hexdigest(),), lambda: years_of(data))


def keep_trial_years(*, trial: Trial, weather: Daily, before: date) -> None:
    """Keep the days before a season beside a trial; what is there already stays.

    Parameters
    ----------
    trial : Trial
        The trial.
    weather : Daily
        As read from a station's file.
    before : date
        First day of the trial's season.

    Raises
    ------
    InputError
        If what is kept already cannot be read.
    """
    there = trial_years(trial)
    text = years_text(weather, before, there.weather if there is not None else None)
    if text:
        TrialFile.objects.update_or_create(trial=trial, path=YEARS_FILE, defaults={"content": text.encode()})
