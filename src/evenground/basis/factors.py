"""Two factors at once: which methods share what a machine sows side by side, and what is changed from the cab."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from evenground.basis.method import Method, RowPattern
from evenground.basis.record import Record

Whole = Literal["none", "pattern"]
Within = Literal["none", "seed_rate", "starter", "speed"]
Fault = tuple[str, str, str, str]

WHOLE_WORDS = {"pattern": "row pattern"}
# What it is called, which number of a method it is, and that number in words.
_WITHIN = {
    "seed_rate": ("seed rate", "seeds_per_m2", "{:g} seeds/m2"),
    "starter": ("starter rate", "starter_kg_per_ha", "{:g} kg/ha starter"),
    "speed": ("driving speed", "speed_km_per_h", "{:g} km/h"),
}
# A machine sows all strips of a whole plot in one go, so these may differ between patterns but not within one.
_SAME = ("seeds_per_m2", "starter_kg_per_ha", "speed_km_per_h", "depth_cm")


class FactorsSection(Record):
    """Section ``[factors]``: two things compared at once, as a split plot.

    Attributes
    ----------
    whole : {"none", "pattern"}
        What stays the same on strips sown side by side: the row pattern with its machine.
    within : {"none", "seed_rate", "starter", "speed"}
        What the driver changes from the cab between those strips.
    """

    whole: Whole = "none"
    within: Within = "none"


@dataclass(frozen=True, slots=True)
class FactorGrid:
    """Methods as a table of two factors.

    Attributes
    ----------
    whole, within : str
        What the factors are called.
    whole_levels, within_levels : tuple of str
        Their levels in words; those of the baseline first.
    letters : tuple of tuple of str
        Method of each whole level (down) and level within (across).
    """

    whole: str
    within: str
    whole_levels: tuple[str, ...]
    within_levels: tuple[str, ...]
    letters: tuple[tuple[str, ...], ...]

    @property
    def per_plot(self) -> int:
        """Strips of a whole plot [1]."""
        return len(self.within_levels)


def factor_grid(section: FactorsSection, methods: Sequence[Method]) -> FactorGrid | None:
    """Return the methods as a table of two factors.

    Parameters
    ----------
    section : FactorsSection
        What the factors are.
    methods : sequence of Method
        All methods; they must pass `factor_faults`.

    Returns
    -------
    FactorGrid or None
        None where the methods are one factor.

    Source: definition.
    """
    if section.whole == "none" or section.within == "none":
        return None
    name, field, words = _WITHIN[section.within]
    ordered = sorted(methods, key=lambda m: not m.baseline)
    patterns = list(dict.fromkeys(_pattern(m) for m in ordered))
    levels = list(dict.fromkeys(getattr(m, field) for m in ordered))
    of = {(_pattern(m), getattr(m, field)): m.letter for m in ordered}
    return FactorGrid(
        WHOLE_WORDS[section.whole],
        name,
        tuple(_pattern_words(machine, pattern, patterns) for machine, pattern in patterns),
        tuple(words.format(level) for level in levels),
        tuple(tuple(of[pattern, level] for level in levels) for pattern in patterns),
    )


def factor_faults(section: FactorsSection, methods: Sequence[Method]) -> list[Fault]:
    """Return why the methods are no complete table of two factors: field, given, allowed, message."""
    if section.whole == section.within == "none":
        return []
    if section.whole == "none" or section.within == "none":
        missing = "whole" if section.whole == "none" else "within"
        allowed = "pattern" if missing == "whole" else ", ".join(_WITHIN)
        return [(f"factors.{missing}", "none", allowed, "a trial of two factors needs both.")]
    name, field, words = _WITHIN[section.within]
    patterns = list(dict.fromkeys(_pattern(m) for m in methods))
    levels = list(dict.fromkeys(getattr(m, field) for m in methods))
    faults: list[Fault] = []
    for what, found in (("whole", patterns), ("within", levels)):
        if len(found) < 2:
            faults.append((f"factors.{what}", "1 level", "at least 2", "this factor does not differ between methods."))
    for pattern in patterns:
        for level in levels:
            letters = [m.letter for m in methods if (_pattern(m), getattr(m, field)) == (pattern, level)]
            if len(letters) != 1:
                where = f"{_pattern_words(*pattern, patterns)} with {words.format(level)}"
                message = f"every {WHOLE_WORDS[section.whole]} must be sown at every {name} once: {where}."
                faults.append(("methods", ", ".join(letters) or "no method", "exactly 1", message))
    return faults + _setting_faults(methods, field)


def _setting_faults(methods: Sequence[Method], within: str) -> list[Fault]:
    faults: list[Fault] = []
    first: dict[tuple[str, RowPattern], Method] = {}
    for i, method in enumerate(methods):
        if method.strips_per_block != 1:
            message = "with two factors every method has one strip in a block."
            faults.append((f"methods[{i}].strips_per_block", f"{method.strips_per_block}", "1", message))
        like = first.setdefault(_pattern(method), method)
        for name in _SAME:
            given, wanted = getattr(method, name), getattr(like, name)
            if name != within and given != wanted:
                message = f"only {within} may differ between methods {like.letter} and {method.letter}."
                faults.append((f"methods[{i}].{name}", f"{given:g}", f"{wanted:g}", message))
    return faults


def _pattern(method: Method) -> tuple[str, RowPattern]:
    return method.machine, method.row_pattern


def _pattern_words(machine: str, pattern: RowPattern, all_: Sequence[tuple[str, RowPattern]]) -> str:
    kind = {"single": "single rows", "twin": "twin rows", "band": "bands"}[pattern.kind]
    parts = ["staggered " if pattern.staggered else "", kind, f" {100 * pattern.row_spacing_m:g} cm"]
    alike = [one for _, one in all_ if (one.kind, one.row_spacing_m, one.staggered) == _look(pattern)]
    if len(alike) > 1:
        parts.append(f" ({machine})")
    return "".join(parts)


def _look(pattern: RowPattern) -> tuple[str, float, bool]:
    return pattern.kind, pattern.row_spacing_m, pattern.staggered
