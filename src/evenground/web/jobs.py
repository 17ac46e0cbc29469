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
    about : hashable
        What it was made for, such as the hash of a plan; whoever takes the result sees whether that still holds.
    """

    token: str
    owner: Hashable
    state: str = "running"
    step: int = 0
    total: int = 0
    result: Any = None
    error: Exception | None = None
    about: Hashable = None
    begun: float = field(default_factory=time.monotonic)
    _stop: threading.Event = field(default_factory=threading.Event)
    _ended: threading.Event = field(default_factory=threading.Event)

    def wait(self, limit_s: float) -> bool:
        """Wait for the end of the work [s] and say whether it has come: short work needs no page of its own."""
        return self._ended.wait(limit_s)

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


def start(owner: Hashable, work: Callable[[Job], Any], about: Hashable = None) -> Job:
    """Start work in a thread; work of the same owner that is still running is stopped.

    Parameters
    ----------
    owner : hashable
        Person, trial and kind of work.
    work : callable
        Gets the job, tells its progress, returns the result; it must not touch the database.
    about : hashable
        What it is made for.
    """
    job = Job(secrets.token_hex(12), owner, about=about)
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


def take(owner: Hashable) -> Job | None:
    """Return this owner's ended work and forget it, so that it can be used once only."""
    with _LOCK:
        job = next((j for j in _JOBS.values() if j.owner == owner and j.state != "running"), None)
        if job is not None:
            _JOBS.pop(job.token)
    return job


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
    finally:
        job._ended.set()
