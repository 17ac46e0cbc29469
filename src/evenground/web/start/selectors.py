"""How a trial stands: what is known, what is missing, what is next and when; and what is due on all farms."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from evenground.adapters.border_areas import AREAS_FILE
from evenground.adapters.border_file import BORDER_FILE, SOWN_FILE
from evenground.adapters.export.calendar import Due, due, with_agenda
from evenground.basis.errors import EvengroundError, InputError
from evenground.basis.field import geodesic_area_m2
from evenground.basis.observations import current
from evenground.basis.store import Stored
from evenground.harvest.strips import harvest
from evenground.season.summary import season_summary
from evenground.web.numbers import day, number
from evenground.web.steps import STEPS
from evenground.web.trials.models import Door, Trial
from evenground.web.trials.store import DatabaseStore
from evenground.web.trials.weather_years import trial_years

SOWN_FILES = (AREAS_FILE, SOWN_FILE)
LATE_AFTER = timedelta(days=1)
BORDER, READ_BORDER = gettext_lazy("Border comparison"), gettext_lazy("Read what the two sides say.")
DOOR_PAGES = {
    Door.SOWN: ("sown/", gettext_lazy("How it was sown"), gettext_lazy("Say where each method was sown."), SOWN_FILES),
    Door.WEIGHTS: (
        "weights/",
        gettext_lazy("Weights"),
        gettext_lazy("Type in strips, weights and dry matter."),
        (BORDER_FILE,),
    ),
}
"""For a trial that came by a door: its page, what that is called, what to do there, and the files it leaves."""


@dataclass(frozen=True)
class StepState:
    """How one step stands.

    Attributes
    ----------
    name, label, url : str
        The step.
    known : tuple of str
        What is there.
    missing : tuple of str
        What is not.
    next : str
        The next thing to do in it; empty where nothing is.
    when : str
        When, where somebody knows.
    """

    name: str
    label: str
    url: str
    known: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
    next: str = ""
    when: str = ""

    @property
    def done(self) -> bool:
        """Whether nothing is missing in it."""
        return bool(self.known) and not self.missing and not self.next


@dataclass(frozen=True)
class Overview:
    """How a trial stands as a whole.

    Attributes
    ----------
    steps : tuple of StepState
        In the order of the job.
    problems : tuple
        What contradicts something else.
    first : StepState or None
        What comes before everything else: how it was sown, or the weights, for a trial that came by those doors.
    tasks : mapping of str to Due
        What is due over the season, by its key.
    """

    steps: tuple[StepState, ...]
    problems: tuple[object, ...] = ()
    first: StepState | None = None
    tasks: Mapping[str, Due] = field(default_factory=dict)

    @property
    def next(self) -> StepState | None:
        """What the door asks for, else the first step with something to do."""
        return self.first or next((s for s in self.steps if s.next), None)

    @property
    def can_be_read(self) -> bool:
        """Whether there is a verdict to read."""
        return bool(self.steps[-1].known)


def overview(trial: Trial) -> Overview:
    """Return how a trial stands."""
    try:
        stored = DatabaseStore(trial).load()
    except InputError as error:
        return Overview(tuple(_state(trial, s.name) for s in STEPS), error.problems)
    tasks = {t.key: t for t in tasks_of(stored, trial)}
    makers = (_plan, _field, _layout, _sowing, _stand, _season, _harvest, _verdict)
    said = (make(stored, tasks) for make in makers)
    steps = tuple(_state(trial, s.name, *parts) for s, parts in zip(STEPS, said, strict=True))
    return Overview(steps, first=_by_door(trial, drawn=stored.draw is not None), tasks=tasks)


def _by_door(trial: Trial, *, drawn: bool) -> StepState | None:
    """Return what a trial that was not planned here needs first; None once it is there."""
    if drawn or trial.door not in DOOR_PAGES:
        return None
    page, label, text, files = DOOR_PAGES[Door(trial.door)]
    if trial.files.filter(path__in=files).exists():
        return StepState("season", str(BORDER), f"/trials/{trial.slug}/season/border/", next=str(READ_BORDER))
    return StepState("layout", str(label), f"/trials/{trial.slug}/{page}", next=str(text))


Parts = tuple[list[str], list[str], str, str]
Tasks = dict[str, Due]


def _state(trial: Trial, name: str, known: Iterable[str] = (), missing: Iterable[str] = (), *rest: str) -> StepState:
    step = next(s for s in STEPS if s.name == name)
    url = f"/trials/{trial.slug}/{step.page}"
    return StepState(name, str(step.label), url, tuple(known), tuple(missing), *rest)


def tasks_of(stored: Stored, trial: Trial) -> tuple[Due, ...]:
    """Return what is due over the season, with dates from the heat so far where there is weather.

    Weather of earlier years says what heat lies ahead.
    """
    plan, events = stored.plan, current(stored.records.events)
    if stored.draw is None or not current(stored.records.weather):
        return due(plan, events)
    latitude = stored.field.boundary.centroid.y if stored.field is not None else None
    try:
        years = trial_years(trial)
        long = years.weather if years is not None else None
        found = season_summary(plan, stored.draw, stored.records, latitude, long)
    except EvengroundError:
        return due(plan, events)
    return with_agenda(plan, events, found.agenda)


def when(task: Due | None) -> str:
    """Say when something is due; empty where nobody knows."""
    if task is None or task.first is None:
        return ""
    if task.last is None or task.last == task.first:
        return day(task.first)
    return _("%(first)s to %(last)s") % {"first": day(task.first), "last": day(task.last)}


def _plan(stored: Stored, _tasks: Tasks) -> Parts:
    plan = stored.plan
    known = [", ".join(f"{m.letter} {m.name}" for m in plan.methods)]
    missing = [] if plan.trial.question else [_("the question, in your own words")]
    todo = _("Write down the question, and check methods, machines and prices.") if missing else ""
    if not plan.trial.settings_told:
        missing.append(_("how the methods were sown"))
    return known, missing, "" if _told(stored) else todo, ""


def _told(stored: Stored) -> bool:
    """Whether the strips were sown before anything was planned here: nothing is left to prepare then."""
    return stored.draw is not None and stored.draw.told


def _field(stored: Stored, _tasks: Tasks) -> Parts:
    if stored.field is None:
        todo = "" if _told(stored) else _("Upload the outline, draw it, or walk round it.")
        return [], [_("the outline of the field")], todo, ""
    area = geodesic_area_m2(stored.field.boundary) / 1e4
    return [_("%(area)s ha") % {"area": number(area, 2)}], [], "", ""


def _layout(stored: Stored, tasks: Tasks) -> Parts:
    if stored.draw is None:
        wait = stored.field is None
        todo = "" if wait else _("Compare layouts and draw.")
        return [], [_("the draw")], todo, when(tasks.get("agree"))
    strips, blocks = len(stored.draw.strips), len({s.block for s in stored.draw.strips})
    words = _("%(strips)s strips in %(blocks)s blocks, drawn on %(day)s")
    if stored.draw.told:
        words = _("%(strips)s strips in %(blocks)s blocks, drawn elsewhere, told on %(day)s")
    said = words % {
        "strips": strips,
        "blocks": blocks,
        "day": day(stored.draw.drawn_at.date()),
    }
    return [said], [], "", ""


def _strips_with(stored: Stored, kind: str, event: str = "") -> tuple[int, int]:
    every = {s.strip for s in stored.draw.strips} if stored.draw is not None else set()
    seen = {n for r in current(getattr(stored.records, kind)) if not event or r.event == event for n in r.strips}
    return len(seen & every), len(every)


def _of(done: int, every: int, words: str) -> str:
    return _("%(what)s: %(done)s of %(every)s strips") % {"what": words, "done": done, "every": every}


def _sowing(stored: Stored, tasks: Tasks) -> Parts:
    done, every = _strips_with(stored, "events", "sown")
    if not every:
        return [], [], "", ""
    known = [_of(done, every, _("written down as sown"))] if done else []
    missing = [_("as sown, strip by strip")] if done < every else []
    if _told(stored):
        return known, missing, "", ""
    todo = _("Print the cab cards, sow, and note three things a pass.") if done < every else ""
    return known, missing, todo, when(tasks.get("sow"))


def _sown(stored: Stored) -> bool:
    """Whether anything is in the ground, as far as is known."""
    return _told(stored) or _strips_with(stored, "events", "sown")[0] > 0


def _weighed(stored: Stored) -> bool:
    """Whether strips of a told draw have weights: nobody goes back to count what is cut."""
    return _told(stored) and bool(current(stored.records.weighings))


def _stand(stored: Stored, tasks: Tasks) -> Parts:
    done, every = _strips_with(stored, "stand_counts")
    if not every:
        return [], [], "", ""
    sown = _sown(stored)
    ask = sown and done < every and not _weighed(stored)
    todo = _("Count the plants in every strip, on the phone or on a count sheet.") if ask else ""
    known = [_of(done, every, _("counted"))] if done else []
    due_when = when(tasks.get("count")) if todo or not _weighed(stored) else ""
    return known, [_("plants per m2")] if sown and done < every else [], todo, due_when


def _season(stored: Stored, _tasks: Tasks) -> Parts:
    days = len(current(stored.records.weather))
    if days:
        return [ngettext("%(days)s day of weather", "%(days)s days of weather", days) % {"days": days}], [], "", ""
    sown = _sown(stored)
    ask = sown and not _weighed(stored)
    todo = _("Add the weather, so that the verdict can say what kind of year it was.") if ask else ""
    return [], [_("weather")] if sown else [], todo, ""


def _harvest(stored: Stored, tasks: Tasks) -> Parts:
    if stored.draw is None:
        return [], [], "", ""
    found = harvest(stored.plan, stored.draw, stored.records)
    done = sum(s.outcome is not None for s in found.strips)
    lost = sum(s.state in ("lost", "not_sown", "other_product") for s in found.strips)
    every = len(found.strips)
    begun = bool(current(stored.records.loads) or current(stored.records.weighings))
    known = [_of(done, every, _("weighed, with dry matter"))] if begun else []
    open_ = every - done - lost
    missing = [_of(open_, every, _("still without a result"))] if begun and open_ else []
    todo = _("Write down loads, slips and samples; look at what is missing.") if _sown(stored) and open_ else ""
    return known, missing, todo, when(tasks.get("harvest"))


def _verdict(stored: Stored, _tasks: Tasks) -> Parts:
    if stored.draw is None:
        return [], [], "", ""
    found = harvest(stored.plan, stored.draw, stored.records)
    whole = {s.block for s in found.strips if s.outcome is not None}
    if len(whole) < 2:
        return [], [], "", ""
    return [_("can be read")], [], "", ""


@dataclass(frozen=True)
class DueRow:
    """One thing to do on one farm.

    Attributes
    ----------
    trial : Trial
        Where.
    what, when : str
        What, and when.
    state : str
        ``late``, ``now``, ``soon`` or ``open`` (no date known).
    first : date or None
        For the order.
    """

    trial: Trial
    what: str
    when: str
    state: str
    first: date | None


def due_rows(trials: Iterable[Trial], today: date) -> tuple[DueRow, ...]:
    """Return what is late, due or missing across trials: late first, then by date, then without a date.

    Parameters
    ----------
    trials : iterable of Trial
        Those somebody may see.
    today : date
        To tell late from soon.
    """
    rows: list[DueRow] = []
    for trial in trials:
        found = overview(trial)
        if found.problems:
            what = _("something contradicts something else; look at it")
            rows.append(DueRow(trial, what, "", "now", today))
            continue
        for step in (found.first,) if found.first is not None else found.steps:
            if step.next:
                rows.append(_row(trial, step, found.tasks.get(_TASK_OF.get(step.name, "")), today))
    order = {"late": 0, "now": 1, "soon": 2, "open": 3}
    return tuple(sorted(rows, key=lambda r: (order[r.state], r.first or date.max, r.trial.name)))


_TASK_OF = {"layout": "agree", "sowing": "sow", "stand": "count", "harvest": "harvest"}


def _row(trial: Trial, step: StepState, task: Due | None, today: date) -> DueRow:
    first = task.first if task is not None else None
    last = (task.last or task.first) if task is not None else None
    what = f"{step.label}: {step.next}"
    if first is None or last is None:
        return DueRow(trial, what, "", "open", None)
    state = "late" if today > last + LATE_AFTER else "now" if today >= first else "soon"
    return DueRow(trial, what, when(task), state, first)
