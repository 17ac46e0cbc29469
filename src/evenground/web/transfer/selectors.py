"""What the pages of moving data show: what there is to take out, and which farms somebody may back up."""

from __future__ import annotations

from dataclasses import dataclass

from django.contrib.auth.models import AnonymousUser
from django.db.models import Count, QuerySet, Sum
from django.db.models.functions import Length

from evenground.adapters.record_writing import canonical_columns, rows_text
from evenground.basis.observations import RECORD_KINDS
from evenground.web.accounts.models import Role, User
from evenground.web.record_words import Words, kind_words
from evenground.web.transfer.placeless import without_coordinates
from evenground.web.trials.folder_files import folder_files
from evenground.web.trials.models import Farm, Trial
from evenground.web.trials.store import DatabaseStore


@dataclass(frozen=True)
class KindOut:
    """A kind of record that can be taken out as a table.

    Attributes
    ----------
    kind : str
        A key of ``RECORD_KINDS``.
    words : str
        What it is called.
    count : int
        Records, corrections included [1].
    """

    kind: str
    words: Words
    count: int


@dataclass(frozen=True)
class FilesOut:
    """The other files of a trial.

    Attributes
    ----------
    count : int
        How many [1].
    size_mb : float
        How large together [MB].
    """

    count: int
    size_mb: float


def kinds_out(trial: Trial) -> list[KindOut]:
    """Return every kind of record there is, in the order of the season."""
    counts = dict(trial.records.values("kind").annotate(n=Count("pk")).values_list("kind", "n").order_by())
    return [KindOut(kind, kind_words(kind), counts[kind]) for kind in RECORD_KINDS if counts.get(kind)]


def files_out(trial: Trial) -> FilesOut:
    """Say how many other files there are, and how large."""
    said = trial.files.aggregate(n=Count("pk"), size=Sum(Length("content")))
    return FilesOut(said["n"], (said["size"] or 0) / 1e6)


def records_csv(trial: Trial, kind: str, *, without_places: bool = False) -> bytes:
    """Return the records of a kind as a table: as it came and was added to, or without coordinates."""
    path = f"records/{kind}.csv"
    if not without_places:
        found = dict(folder_files(trial, photographs=False, history=False)).get(path)
        if found is not None:
            return found
    mine = getattr(DatabaseStore(trial).records(), kind)
    return rows_text(without_coordinates(mine) if without_places else mine, canonical_columns(kind)).encode()


def farms_of(user: User | AnonymousUser, *roles: Role) -> QuerySet[Farm]:
    """Return the farms on which somebody has one of these roles, by name."""
    if not user.is_authenticated:
        return Farm.objects.none()
    return Farm.objects.filter(memberships__user=user, memberships__role__in=roles).distinct().order_by("name", "pk")
