"""Photographs that lie beside a trial of the database."""

from __future__ import annotations

from evenground.adapters.small_photo import Reader
from evenground.web.trials.models import Trial, TrialFile


def photograph_reader(trial: Trial) -> Reader:
    """Return a reader of a trial's photographs by their place in its folder.

    Parameters
    ----------
    trial : Trial
        The trial.
    """

    def read(name: str) -> bytes | None:
        file = TrialFile.objects.filter(trial=trial, path=name).first()
        return bytes(file.content) if file is not None else None

    return read
