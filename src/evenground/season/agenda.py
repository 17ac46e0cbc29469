"""What to do when: dates counted from sowing and from the heat the crop has had, with a range where they lie ahead."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from evenground.season.stages import Stage

# Six weeks after sowing, a week before the silage window, and so on: common practice, no source.
COVER_AFTER = timedelta(days=42)
WEEK = timedelta(days=7)
ENTRY = "Keep the re-entry times after spraying; in heat and in ripe maize (boar) never alone."


@dataclass(frozen=True)
class Task:
    """One thing to do.

    Attributes
    ----------
    key : str
        Unique among the tasks.
    what, why : str
        Plain words.
    first, last : date or None
        Earliest and latest day; None where the heat so far and ahead cannot tell.
    """

    key: str
    what: str
    why: str
    first: date | None
    last: date | None

    def as_dict(self) -> dict[str, Any]:
        """Return one entry of ``agenda`` of ``season --json``."""
        return {
            **self.__dict__,
            "first": self.first and self.first.isoformat(),
            "last": self.last and self.last.isoformat(),
        }


def agenda(found: Sequence[Stage], sown: Mapping[str, date], product: str) -> tuple[Task, ...]:
    """Return the season's tasks in the order of their days, those without a day last.

    Parameters
    ----------
    found : sequence of Stage
        Stages of all methods.
    sown : mapping of str to date
        Sowing day by method.
    product : {"silage", "grain"}
        What is harvested.
    """
    tasks = list(_tasks(found, sown, product))
    return tuple(sorted(tasks, key=lambda t: (t.first is None, t.first or date.min)))


def _tasks(found: Sequence[Stage], sown: Mapping[str, date], product: str) -> Iterator[Task]:
    up = _range(found, "emergence")
    three = _range(found, "three_leaves")
    flowering = _range(found, "flowering")
    silage = _range(found, "silage")
    days = sorted(sown.values())
    cover = (days[0] + COVER_AFTER, days[-1] + COVER_AFTER) if days else (None, None)
    yield Task("emergence", "Count what has come up, every second day", "Days to half emerged differ by method.", *up)
    yield Task(
        "count",
        "Count plants and late plants in every strip",
        "At three leaves: every row unit of one pass once.",
        *three,
    )
    yield Task("depth", "Dig up plants and measure the depth", "The seed can still be found at three leaves.", *three)
    yield Task("photo_three_leaves", "Photographs, from the same spots as later", "One spot a strip.", *three)
    yield Task(
        "cover",
        "Judge ground cover and weeds by strip number",
        f"Six weeks after sowing, on the sheet of the crop walk ('evenground walk --list'). {ENTRY}",
        *cover,
    )
    yield Task("photo_flowering", "Photographs from the same spots", f"At flowering. {ENTRY}", *flowering)
    yield Task("flowering", "Note the days of flowering and leaf rolling by strip number", ENTRY, *flowering)
    before = _earlier(silage, WEEK)
    if product == "silage":
        yield Task(
            "dry_matter", "Take dry-matter samples strip by strip", "A week before harvest; tell the "
            "harvester's driver if the methods differ by more than 2 points.", *before,
        )  # fmt: skip
        yield Task(
            "harvest", "Harvest window", "32 % dry matter. Nobody on foot near the machines; mind the silage gas "
            "later.", *silage,
        )  # fmt: skip
    yield Task("cobs", "Cob samples: 10 plants in a row, not chosen", f"Cobs and cobless plants. {ENTRY}", *before)
    yield Task("lodging", "Judge lodging by strip number, photographs from the same spots", ENTRY, *before)


def _range(found: Sequence[Stage], stage: str) -> tuple[date | None, date | None]:
    """From the first method's first day to the last method's last day; unknown where any end is."""
    mine = [s for s in found if s.stage == stage]
    firsts, lasts = [s.first for s in mine if s.first], [s.last for s in mine if s.last]
    if not mine or len(firsts) < len(mine):
        return None, None
    return min(firsts), max(lasts) if len(lasts) == len(mine) else None


def _earlier(days: tuple[date | None, date | None], by: timedelta) -> tuple[date | None, date | None]:
    return days[0] and days[0] - by, days[1] and days[1] - by
