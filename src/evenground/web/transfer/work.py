"""Bringing archives in beside the page: with progress and a way to stop, in the words of the person's language."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from dataclasses import dataclass, replace

from django.db import connection, transaction
from django.utils import translation
from django.utils.translation import gettext as _

from evenground.adapters.zip_file import open_zip
from evenground.basis.errors import InputError
from evenground.web import jobs
from evenground.web.accounts.models import Membership, Role, User
from evenground.web.transfer import incoming, restoring, zips
from evenground.web.transfer.incoming import Coming
from evenground.web.trials.models import Farm

AT_ONCE_BYTES = 200_000
"""An archive up to this size is stored while the page waits; its tables may unpack to some twenty times that."""
Progress = Callable[[int, int], None]
_BEING_PUT_BACK: set[int] = set()
"""Keys of farms that this process is putting back now."""


@dataclass(frozen=True)
class Brought:
    """What came in.

    Attributes
    ----------
    words : str
        What to tell.
    address : str
        Page to go to.
    """

    words: str
    address: str


def owner_of(person: User) -> Hashable:
    """Return whose work it is: one archive a person at a time."""
    return ("transfer", person.pk)


def bring(coming: Coming, farm: Farm, by: User, progress: Progress) -> Brought:
    """Store a trial folder.

    Raises
    ------
    InputError
        With everything wrong with it; nothing is stored then.
    """
    limits = replace(zips.LIMITS, whole_bytes=min(zips.LIMITS.whole_bytes, incoming.room_bytes()))
    with coming.path.open("rb") as file:
        trial = zips.take_zip(farm=farm, file=file, by=by, progress=progress, limits=limits)
    return Brought(_("The trial is here."), f"/trials/{trial.slug}/")


def put_back(coming: Coming, by: User, progress: Progress) -> Brought:
    """Restore a farm, and make this person its owner.

    Raises
    ------
    InputError
        With everything wrong with the backup; nothing is stored then.
    """
    clear_up()
    limits = replace(restoring.LIMITS, whole_bytes=min(restoring.LIMITS.whole_bytes, incoming.room_bytes()))
    begun: list[int] = []

    def note(farm: Farm) -> None:
        begun.append(farm.pk)
        _BEING_PUT_BACK.add(farm.pk)
        incoming.note_of(farm.pk).touch()

    try:
        with coming.path.open("rb") as file:
            farm = restoring.restore(file=file, by=by, progress=progress, limits=limits, begun=note)
        Membership.objects.create(user=by, farm=farm, role=Role.OWNER)
    finally:
        for number in begun:
            _BEING_PUT_BACK.discard(number)
            incoming.note_of(number).unlink(missing_ok=True)
    text = _("Everything is back, as the farm “{name}”. Nothing that was here was changed.")
    return Brought(text.format(name=farm.name), "/backup/")


def clear_up() -> None:
    """Take away what a program that ended in the middle had put back of a farm; farms with people are never touched."""
    for path, number in incoming.notes():
        farm = Farm.objects.filter(pk=number).first()
        if farm is None or farm.memberships.exists():
            path.unlink(missing_ok=True)
        elif number not in _BEING_PUT_BACK:
            restoring.take_away(farm)
            path.unlink(missing_ok=True)


def look_from_outside(coming: Coming) -> None:
    """Refuse at once what is no archive, or one with odd names or sizes.

    Raises
    ------
    InputError
        With every problem found; the file is thrown away then.
    """
    try:
        with coming.path.open("rb") as file:
            open_zip(file, restoring.LIMITS)
    except InputError:
        coming.let_go()
        raise


def start(person: User, coming: Coming, store: Callable[[Progress], Brought], about: str) -> jobs.Job:
    """Begin to store an archive beside the page.

    Parameters
    ----------
    person : User
        Who sent it.
    coming : Coming
        What came; thrown away at the end, however that is.
    store : callable
        Gets the progress, returns what came in.
    about : str
        Which form it came from.
    """
    language = translation.get_language() or "en-gb"

    def work(job: jobs.Job) -> Brought:
        try:
            with translation.override(language):
                return store(job.progress)
        finally:
            coming.let_go()
            connection.close()  # the thread's own

    return jobs.start(owner_of(person), work, about)


def at_once(coming: Coming, store: Callable[[Progress], Brought]) -> Brought:
    """Store a small archive now, all of it or nothing.

    Raises
    ------
    InputError
        With everything wrong with it.
    """
    try:
        with transaction.atomic():
            return store(lambda _done, _total: None)
    finally:
        coming.let_go()
