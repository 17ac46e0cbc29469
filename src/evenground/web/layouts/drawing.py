"""The draw beside the page: with two factors it takes seconds. It is shown to nobody before it is stored."""

from __future__ import annotations

import secrets
from datetime import datetime

from django.utils.translation import gettext as _

from evenground import __version__
from evenground.basis.errors import InputError, LockedError, problem
from evenground.basis.strip import Draw
from evenground.layout.laid_out import make_draw
from evenground.web import jobs
from evenground.web.layouts.search import Found
from evenground.web.trial_view import Opened

# Below 2**53, so that every program reads the seed back exactly.
SEED_BITS = 48


def owner_of(opened: Opened) -> tuple[object, ...]:
    """Return whose draw it is: one a trial at a time."""
    return ("draw", opened.trial.pk)


def begin_draw(*, opened: Opened, found: Found, reason: str, now: datetime) -> jobs.Job:
    """Start to draw which strip gets which method.

    The seed comes from the machine's randomness and cannot be chosen here; a draw that is there already stays on
    record, and a new one needs a reason.

    Raises
    ------
    LockedError
        If there is a draw already and no reason is given.
    InputError
        If the search is for another plan.
    """
    stored, why = opened.stored, reason.strip()
    if found.plan_hash != stored.plan_hash:
        raise InputError([problem(_("the plan was changed since the search; look for layouts again."))])
    if stored.draws and not why:
        raise LockedError("The strips were drawn already. A new draw needs a reason; the old one stays on record.")
    wish, before = stored.plan.layout.seed, len(stored.draws)

    def work(job: jobs.Job) -> Draw:
        made = make_draw(
            stored.plan,
            found.laid_out,
            seed=secrets.randbits(SEED_BITS) if wish is None else wish + before,
            drawn_at=now,
            plan_hash=stored.plan_hash,
            version=__version__,
            number=before + 1,
            reason=why if before else "",
        )
        job.progress(1, 1)
        return made

    return jobs.start(owner_of(opened), work)


def keep_draw(*, opened: Opened) -> Draw | None:
    """Store and lock the draw that is ready.

    Returns
    -------
    Draw or None
        None where none is ready: it still runs, was stopped, or the program was started anew in between.

    Raises
    ------
    LockedError, InputError
        If the trial was changed or drawn while it ran; nothing is stored then.
    """
    job = jobs.take(owner_of(opened))
    if job is None or job.state == "stopped":
        return None
    if job.error is not None:
        raise job.error
    made: Draw = job.result
    if made.plan_hash != opened.stored.plan_hash:
        raise InputError([problem(_("the plan was changed while the draw was made; nothing was stored."))])
    opened.store.append_draw(made)
    return made
