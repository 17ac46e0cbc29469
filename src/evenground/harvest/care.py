"""What a reader must know about how samples were taken, how high was cut, and what was changed on the way."""

from __future__ import annotations

import statistics
from collections.abc import Iterable, Mapping, Sequence

from evenground.basis.days import said_day
from evenground.basis.observations import Damage, Event, Sample, Stubble, current
from evenground.harvest.names import strips_said

# From here on a sample counts as late unless it was frozen. Common practice, no source.
HOURS_TO_LAB = 24.0


def sample_notes(samples: Iterable[Sample]) -> tuple[str, ...]:
    """Say which samples were taken or kept in a way that can move them.

    Parameters
    ----------
    samples : iterable of Sample
        All records, corrections included.
    """
    counting = current(samples)
    by_hand = sorted({s for one in counting if one.taken == "hand" for s in one.strips})
    late = [one.id for one in counting if one.hours_to_dry is not None and one.hours_to_dry > HOURS_TO_LAB]
    ways = sorted({one.dried for one in counting if one.dried is not None})
    out = []
    if by_hand:
        out.append(f"samples of {strips_said(by_hand)} were taken by hand, which loses grain; a scoop does not")
    if late:
        which = f"sample{'' if len(late) == 1 else 's'} {', '.join(late)}"
        out.append(f"{which} waited more than {HOURS_TO_LAB:g} hours before drying or freezing")
    if len(ways) > 1:
        out.append(f"samples were dried in different ways ({', '.join(ways)})")
    return tuple(out)


def cutting_heights_cm(stubble: Iterable[Stubble]) -> dict[int, float]:
    """Return the mean cutting height of every strip measured, each stub counting once [cm].

    Parameters
    ----------
    stubble : iterable of Stubble
        All records, corrections included.
    """
    found: dict[int, list[tuple[float, int]]] = {}
    for one in current(stubble):
        for strip in one.strips:
            found.setdefault(strip, []).append((one.height_cm, one.stubs))
    return {s: sum(h * n for h, n in rows) / sum(n for _, n in rows) for s, rows in sorted(found.items())}


def cutting_height_notes(heights_cm: Mapping[int, float], methods: Mapping[int, str]) -> tuple[str, ...]:
    """Say how high each method was cut.

    Parameters
    ----------
    heights_cm : mapping
        Strip to cutting height [cm].
    methods : mapping
        Strip to method as sown.
    """
    by_method: dict[str, list[float]] = {}
    for strip, height in heights_cm.items():
        by_method.setdefault(methods[strip], []).append(height)
    if not by_method:
        return ()
    said = ", ".join(
        f"{m} {statistics.fmean(h):.0f} cm ({len(h)} strip{'s' * (len(h) > 1)})" for m, h in sorted(by_method.items())
    )
    return (f"cutting height measured in the stubble: {said}",)


def damage_notes(damage: Iterable[Damage], strip: int) -> tuple[str, ...]:
    """Say what damage a strip had.

    Parameters
    ----------
    damage : iterable of Damage
        All records, corrections included.
    strip : int
        Which strip.
    """
    out = []
    for one in current(damage):
        if strip in one.strips:
            size = f" on {one.length_m:g} m" if one.length_m else f" on {one.area_m2:.4g} m2" if one.area_m2 else ""
            lost = f", {one.degree_percent:g} % lost there" if one.degree_percent < 100.0 else ", all lost there"
            may = {"no": "", "may_be": "; the method may have caused it", "unknown": ""}[one.by_method]
            out.append(f"damage: {one.cause.replace('_', ' ')}{size}{lost}{may}")
    return tuple(out)


def blame_note(strips: Sequence[int]) -> tuple[str, ...]:
    """Say that damage the method may have caused is never taken out.

    Parameters
    ----------
    strips : sequence of int
        Strips with such damage, or with damage of which nobody said.
    """
    if not strips:
        return ()
    return (
        f"damage in {strips_said(strips)} may come from the method, or nobody said that it cannot; it is never "
        "taken out (by_method = no says that it cannot)",
    )


def changes(events: Iterable[Event]) -> tuple[str, ...]:
    """Say when and why the product was changed.

    Parameters
    ----------
    events : iterable of Event
        All records, corrections included.
    """
    return tuple(
        f"what is harvested was changed on {said_day(e.time)}: {e.note or 'no reason given'}"
        for e in current(events)
        if e.event == "product_changed" and not e.product
    )
