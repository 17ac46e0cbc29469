"""What changes at sowing: answers of the people, entries as sown, a planter's log read and kept."""

from __future__ import annotations

import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from django.utils.translation import gettext as _
from pydantic import ValidationError

from evenground.adapters.number_style import STYLES
from evenground.adapters.planter_log import digest_of, read_trial_log
from evenground.basis.errors import InputError, problem
from evenground.basis.observations import Event
from evenground.basis.record import problems_of
from evenground.basis.sowing_plan import Agreement
from evenground.sowing.as_sown import PlanterLog, as_sown
from evenground.sowing.log_entries import log_entries, seen_before
from evenground.sowing.sown_strips import SownStrip, sown_strips, with_log
from evenground.web.trial_view import Opened
from evenground.web.trials.store import DatabaseStore


def record_agreement(*, opened: Opened, said: dict[str, object]) -> None:
    """Add what one person said to the settings to the plan; earlier answers stay.

    Parameters
    ----------
    opened : Opened
        The trial.
    said : dict
        Fields of an `Agreement`.

    Raises
    ------
    InputError
        If it is not an answer.
    """
    try:
        one = Agreement.model_validate(said)
    except ValidationError as error:
        raise InputError(problems_of(error, file="", model=Agreement)) from error
    every = [*opened.stored.plan.people.agreements, one]
    opened.store.change_plan({"people.agreements": [a.model_dump(exclude_defaults=True) for a in every]})


def sown_as_drawn(*, store: DatabaseStore, event: Event) -> int:
    """Keep that a strip was sown; see `DatabaseStore.append_records` for what it returns and raises."""
    return store.append_records([event])


@dataclass(frozen=True)
class LogRead:
    """A planter's log as read: the strips it speaks of, what to watch, and its entries.

    Attributes
    ----------
    strips : tuple of SownStrip
        Strips as they would stand with it.
    notes : tuple of str
        What makes one wonder whether it is the right log.
    entries : tuple of Event
        What would be stored.
    """

    strips: tuple[SownStrip, ...]
    notes: tuple[str, ...]
    entries: tuple[Event, ...]


def read_log(*, opened: Opened, data: bytes, file: str, method: str, machine: str, number_style: str = "") -> LogRead:
    """Read a planter's log against the strips of the trial; nothing is stored.

    Parameters
    ----------
    opened : Opened
        The trial.
    data, file : bytes, str
        The log and its name.
    method, machine : str
        Letter of the method it sowed; id of the planter, "" for the method's own.
    number_style : str
        How it writes numbers, "" to find out.

    Raises
    ------
    InputError
        With every problem found.
    """
    plan, draw = opened.stored.plan, opened.draw
    if method not in plan.letters:
        allowed = ", ".join(plan.letters)
        raise InputError([problem(_("whose log is it? Name the method."), field="method", allowed=allowed)])
    own = next(m.machine for m in plan.methods if m.letter == method)
    planters = [m.id for m in plan.machines if m.kind == "planter"]
    if machine and machine not in planters:
        allowed = ", ".join(planters)
        raise InputError([problem(_("there is no such planter in the plan."), field="machine", allowed=allowed)])
    with tempfile.TemporaryDirectory(prefix="evenground-log-") as folder:
        path = Path(folder) / (Path(file).name or "log.csv")
        path.write_bytes(data)
        style = STYLES.get(number_style)
        log = read_trial_log(path, method, plan.machine(machine or own), draw, plan.trial.season, number_style=style)
        digest = digest_of(path)
    found = as_sown(log, draw)
    if log.start is None:
        text = _("a log without dates cannot be kept.")
        raise InputError([problem(text, file=file, row=1, field="time", allowed=_("dates with clock time"))])
    entries = log_entries(log, found, digest)
    early = seen_before(entries, opened.stored.records)
    if early:
        text = _("the crop was counted or harvested before this log says it was sown: strip %s.")
        latest = min(early.values()).date()
        said = text % ", ".join(str(s) for s in early)
        raise InputError([problem(said, file=file, field="time", given=log.start.date(), allowed=f"<= {latest}")])
    strips = with_log(sown_strips(plan, draw, opened.stored.records), log, found)
    return LogRead(strips, tuple(_doubts(log, draw.drawn_at, machine, own)), entries)


def _doubts(log: PlanterLog, drawn_at: datetime, machine: str, own: str) -> Sequence[str]:
    """Say what makes one wonder whether this is the right log."""
    out = []
    if machine and machine != own:
        out.append(
            _("The method was to be sown by %(own)s; this log is of %(other)s.") % {"own": own, "other": machine}
        )
    if not log.rows_off.any():
        out.append(_("The log never says that rows were off: driving over a strip counts as sowing it."))
    if log.start is not None and log.start.utcoffset() == timedelta(0):
        out.append(_("The log's clock is UTC; its times are kept as they stand, not turned into local time."))
    if log.start is not None and log.start.date() < drawn_at.date():
        days = {"log": log.start.date(), "drawn": drawn_at.date()}
        out.append(_("The log is of %(log)s; the strips were drawn later, on %(drawn)s.") % days)
    return out
