"""Files of a trial that are told anew: what was there before stays, under the day it was replaced."""

from __future__ import annotations

from pathlib import PurePosixPath

from django.db import transaction
from django.utils import timezone

from evenground.web.trials.models import Trial, TrialFile

EARLIER = "earlier"


def keep_file(trial: Trial, path: str, content: bytes) -> None:
    """Keep a file of a trial; one that says something else is moved aside and stays readable."""
    with transaction.atomic():
        Trial.objects.select_for_update().get(pk=trial.pk)
        there = trial.files.filter(path=path).first()
        if there is not None and bytes(there.content) == content:
            return
        if there is not None:
            name = PurePosixPath(path)
            stamp = timezone.localtime().strftime("%Y-%m-%d-%H%M%S-%f")
            kept = f"{EARLIER}/{name.stem}-{stamp}{name.suffix}"
            TrialFile.objects.create(trial=trial, path=kept, content=bytes(there.content))
        TrialFile.objects.update_or_create(trial=trial, path=path, defaults={"content": content})
