"""Long work beside the page: started once, watched, stopped. Kept in this process, bounded in number and age."""

from __future__ import annotations

import secrets
import threading
import time
from collections.abc import Callable, Hashable
from dataclasses import dataclass, field
from typing import Any

from evenground.basis.errors import EvengroundError

MOST_JOBS = 40
KEPT_S = 3600.0


class StoppedError(Exception):
    """Somebody stopped the work."""


@dataclass
class Job:
    """Work under way or done.

    Attributes
    ----------
    token : str
        Its name in addresses.
    owner : hashable
        Whose work it is; only there it is found again.
    state : str
        ``running``, ``done``, ``stopped`` or ``failed``.
    step, total : int
        How far it is [1].
    result : object
        What came out, when done.
    error : Exception or None
        What went wrong, when failed.
    """

    token: str
    owner: Hashable
    state: str = "running"
    step: int = 0
    total: int = 0
    result: Any = None
    error: Exception | None = None
    begun: float = field(default_factory=time.monotonic)
    _stop: threading.Event = field(default_factory=threading.Event)

    def progress(self, step: int, total: int) -> None:
        """Tell how far the work is; ends it where somebody has stopped it.

        Raises
        ------
        StoppedError
            If it was stopped.
        """
        self.step, self.total = step, total
        if self._stop.is_set():
            raise StoppedError

    def stop(self) -> None:
        """Ask the work to end at its next step."""
        self._stop.set()


_JOBS: dict[str, Job] = {}
_LOCK = threading.Lock()


def start(owner: Hashable, work: Callable[[Job], Any]) -> Job:
    """Start work in a thread; work of the same owner that is still running is stopped.

    Parameters
    ----------
    owner : hashable
        Person, trial and kind of work.
    work : callable
        Gets the job, tells its progress, returns the result; it must not touch the database.
    """
    job = Job(secrets.token_hex(12), owner)
    with _LOCK:
        for old in [j for j in _JOBS.values() if j.owner == owner]:
            old.stop()
            _JOBS.pop(old.token, None)
        for old in sorted(_JOBS.values(), key=lambda j: j.begun):
            if len(_JOBS) < MOST_JOBS and time.monotonic() - old.begun < KEPT_S:
                break
            old.stop()
            _JOBS.pop(old.token, None)
        _JOBS[job.token] = job
    threading.Thread(target=_run, args=(job, work), daemon=True).start()
    return job


def find(owner: Hashable, token: str) -> Job | None:
    """Return work by its name, if it is this owner's."""
    job = _JOBS.get(token)
    return job if job is not None and job.owner == owner else None


def latest(owner: Hashable) -> Job | None:
    """Return this owner's work, if there is any."""
    return next((j for j in list(_JOBS.values()) if j.owner == owner), None)


def _run(job: Job, work: Callable[[Job], Any]) -> None:
    try:
        job.result = work(job)
        job.state = "done"
    except StoppedError:
        job.state = "stopped"
    except EvengroundError as error:
        job.error, job.state = error, "failed"
    except Exception as error:
        job.error, job.state = error, "failed"
        raise
