"""The plan as TOML: read with any unit, checked, and changed without losing a comment, an order or a key."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import Any

import tomlkit
from pydantic import BaseModel, ValidationError

from evenground.adapters.number_style import DATE_STYLES, STYLES, NumberStyle
from evenground.adapters.tables import nearest
from evenground.basis.errors import InputError, Problem, problem
from evenground.basis.plan import Plan
from evenground.basis.record import models_in, path_text, problems_of
from evenground.basis.units import ambiguous_ton, convert, other_names, split_name

PLAN_FILE = "trial.toml"
LARGEST_PLAN_BYTES = 1_000_000
Path = tuple[str | int, ...]


@dataclass(frozen=True)
class FileStyle:
    """What the user said about how one file is written; None where nothing was said."""

    number_style: NumberStyle | None = None
    date_style: str | None = None


@dataclass(frozen=True)
class PlanRead:
    """A plan file as read.

    Attributes
    ----------
    plan : Plan or None
        The plan, if there is no problem.
    files : dict
        File name to what section ``[files]`` says about it.
    problems : tuple of Problem
        What is wrong.
    notes : tuple of str
        Keys that are kept but not read.
    """

    plan: Plan | None
    files: Mapping[str, FileStyle] = field(default_factory=dict)
    problems: tuple[Problem, ...] = ()
    notes: tuple[str, ...] = ()


def read_plan(data: bytes, file: str = PLAN_FILE) -> PlanRead:
    """Read a plan from the bytes of its TOML file; what is wrong stands in ``problems``.

    Parameters
    ----------
    data : bytes
        The file.
    file : str
        Its name in messages.
    """
    if len(data) > LARGEST_PLAN_BYTES:
        allowed = f"at most {LARGEST_PLAN_BYTES / 1e6:g} MB"
        wrong = problem(
            "this file is too large for a plan.", file=file, given=f"{len(data) / 1e6:.1f} MB", allowed=allowed
        )
        return PlanRead(None, problems=(wrong,))
    try:
        content = tomllib.loads(data.decode("utf-8-sig"))
    except UnicodeDecodeError:
        return PlanRead(None, problems=(problem("this file is not text in UTF-8.", file=file, allowed="UTF-8"),))
    except tomllib.TOMLDecodeError as error:
        return PlanRead(None, problems=(_not_toml(str(error), file),))
    except (RecursionError, ValueError):
        return PlanRead(
            None, problems=(problem("brackets are nested too deeply, or a number has thousands of digits.", file=file),)
        )
    files, problems = _file_styles(content.pop("files", {}), file)
    notes = list(_unknown(Plan, content, ()))
    renamed: dict[str, str] = {}
    canonical = _in_own_units(Plan, content, (), file, renamed, problems)
    try:
        plan = Plan.model_validate(canonical)
    except ValidationError as error:
        problems += [_as_given(p, renamed, content) for p in problems_of(error, file=file, model=Plan)]
    if problems:
        return PlanRead(None, files, tuple(problems), tuple(f"{file}: {n}" for n in notes))
    return PlanRead(plan, files, (), tuple(f"{file}: {n}" for n in notes))


def _not_toml(message: str, file: str) -> Problem:
    """Turn the parser's message into a problem with a line."""
    place = re.search(r"\(at line (\d+), column (\d+)\)", message)
    row = int(place[1]) if place else None
    said = re.sub(r" \(at .*\)$", "", message)
    text = f"this is not TOML as it stands here ({said})."
    return problem(
        text, file=file, row=row, field=f"column {place[2]}" if place else "", allowed='lines such as key = "text"'
    )


def _file_styles(content: object, file: str) -> tuple[dict[str, FileStyle], list[Problem]]:
    """Read section ``[files]``: how the numbers and dates of a file are written."""
    out: dict[str, FileStyle] = {}
    problems: list[Problem] = []
    if not isinstance(content, dict):
        return {}, [
            problem("this is not a section.", file=file, field="files", allowed='[files."records/weighings.csv"]')
        ]
    for name, said in content.items():
        entry = said if isinstance(said, dict) else {}
        numbers, dates = entry.get("number_style"), entry.get("date_style")
        if numbers is not None and numbers not in STYLES:
            where, allowed = f"files.{name}.number_style", "one of " + ", ".join(STYLES)
            problems.append(
                problem("there is no such number style.", file=file, field=where, given=numbers, allowed=allowed)
            )
        if dates is not None and dates not in DATE_STYLES:
            where, allowed = f"files.{name}.date_style", "one of " + ", ".join(DATE_STYLES)
            problems.append(
                problem("there is no such date style.", file=file, field=where, given=dates, allowed=allowed)
            )
        out[name] = FileStyle(STYLES.get(str(numbers)), dates if dates in DATE_STYLES else None)
    return out, problems


def _unknown(model: type[BaseModel], content: object, path: Path) -> Iterator[str]:
    """Name the keys that the plan does not know, each with the nearest known one."""
    if isinstance(content, list):
        for i, item in enumerate(content):
            yield from _unknown(model, item, (*path, i))
        return
    if not isinstance(content, dict):
        return
    known = {n for f in model.model_fields for n in (f, *other_names(f))}
    for key, value in content.items():
        if key in known:
            inner = models_in(model.model_fields[key].annotation) if key in model.model_fields else ()
            if inner:
                yield from _unknown(inner[0], value, (*path, key))
            continue
        near = nearest(key, [f for f in model.model_fields if f not in content])
        hint = f" Is {near} meant?" if near else ""
        yield f"key {path_text((*path, key))} is kept but not read.{hint}"


def _in_own_units(
    model: type[BaseModel], content: object, path: Path, file: str, renamed: dict[str, str], problems: list[Problem]
) -> Any:  # noqa: ANN401 - whatever TOML holds
    """Copy the content with every value under its own name; other units are converted exactly."""
    if isinstance(content, list):
        return [_in_own_units(model, c, (*path, i), file, renamed, problems) for i, c in enumerate(content)]
    if not isinstance(content, dict):
        return content
    out = dict(content)
    for name, info in model.model_fields.items():
        here = [n for n in (name, *other_names(name)) if n in content]
        if len(here) > 1:
            message, where = "the same thing is given in two units.", path_text((*path, name))
            problems.append(problem(message, file=file, field=where, given=", ".join(here), allowed="one of them"))
        elif here and here[0] != name:
            out[name] = _converted(out.pop(here[0]), here[0], name)
            renamed[path_text((*path, name))] = path_text((*path, here[0]))
        elif here and (inner := models_in(info.annotation)):
            out[name] = _in_own_units(inner[0], content[name], (*path, name), file, renamed, problems)
    for key in content:
        if ambiguous_ton(key):
            message = "which ton is meant? Use t (1000 kg), short_ton (2000 lb) or long_ton (2240 lb) in the name."
            problems.append(
                problem(message, file=file, field=path_text((*path, key)), given=key, allowed="t, short_ton, long_ton")
            )
    return out


def _converted(value: Any, given: str, name: str) -> Any:  # noqa: ANN401 - whatever TOML holds
    """Convert a number from the unit of one name to that of the other; the check refuses what is no number."""
    source, target = split_name(given)[1], split_name(name)[1]
    if isinstance(value, bool) or not isinstance(value, int | float) or source is None or target is None:
        return value
    try:
        return float(convert(Fraction(value if isinstance(value, int) else repr(value)), source, target))
    except (ValueError, OverflowError):  # NaN, infinite, or larger than any number
        return value


def _as_given(fault: Problem, renamed: Mapping[str, str], content: Mapping[str, Any]) -> Problem:
    """Name the key and the value the user wrote, where a unit was converted."""
    if fault.field not in renamed:
        return fault
    given, own = renamed[fault.field], fault.field.rsplit(".", 1)[-1]
    value: Any = content
    for part in re.findall(r"[^.\[\]]+", given):
        value = value[int(part)] if isinstance(value, list) else value[part]
    return replace(fault, field=given, given=str(value), allowed=f"{fault.allowed} (as {own})")


# Writing ---------------------------------------------------------------------------------------------------------


def plan_text(plan: Plan) -> str:
    """Write a plan as TOML, without comments; values that are not set are left out."""
    return tomlkit.dumps(_without_none(plan.model_dump(mode="json")))


def _without_none(value: Any) -> Any:  # noqa: ANN401 - whatever JSON holds
    if isinstance(value, dict):
        return {k: _without_none(v) for k, v in value.items() if v is not None}
    return [_without_none(v) for v in value] if isinstance(value, list) else value


def change_plan_text(text: str, changes: Mapping[str, object]) -> str:
    r"""Change values in the text of a plan; comments, order, unknown keys and everything else stay as they are.

    Parameters
    ----------
    text : str
        The TOML text.
    changes : mapping
        Key path (``layout.blocks``, ``methods[1].seeds_per_m2``) to new value; None takes the key out.

    Returns
    -------
    str
        The new text; it is not checked here.

    Raises
    ------
    InputError
        If the text is not TOML, or a path leads nowhere.

    Examples
    --------
    >>> print(change_plan_text("[layout] # wishes\nblocks = 6 # half a day\n", {"layout.blocks": 8}), end="")
    [layout] # wishes
    blocks = 8 # half a day
    """
    document = _parsed(text)
    for path, value in changes.items():
        _change(document, path, value)
    return tomlkit.dumps(document)


def add_to_plan(text: str, path: str, values: Mapping[str, object]) -> str:
    r"""Add one section to a list of a plan (``methods``, ``money.machine_access``); everything else stays as it is.

    Parameters
    ----------
    text : str
        The TOML text.
    path : str
        Key path of the list; made if it is not there.
    values : mapping
        Keys of the new section; nested mappings become sections of their own.

    Returns
    -------
    str
        The new text; it is not checked here.

    Raises
    ------
    InputError
        If the text is not TOML, or the path leads to something else.

    Examples
    --------
    >>> print(add_to_plan("[money]\narea_ha = 20.0\n", "money.machine_access", {"method": "B"}), end="")
    [money]
    area_ha = 20.0
    <BLANKLINE>
    [[money.machine_access]]
    method = "B"
    """
    document = _parsed(text)
    *parents, last = path.split(".")
    here: Any = document
    for part in parents:
        if part not in here:
            here[part] = tomlkit.table()
        here = here[part]
    if last not in here:
        here[last] = tomlkit.aot()
    if not isinstance(here[last], tomlkit.items.AoT):
        raise InputError([problem("this is not a list of sections.", file=PLAN_FILE, field=path)])
    here[last].append(_section(values))
    return tomlkit.dumps(document)


def take_from_plan(text: str, path: str, index: int) -> str:
    """Take one section out of a list of a plan; everything else stays as it is.

    Parameters
    ----------
    text : str
        The TOML text.
    path : str
        Key path of the list.
    index : int
        Which one, from 0.

    Raises
    ------
    InputError
        If the text is not TOML, or there is no such section.
    """
    document = _parsed(text)
    here: Any = document
    try:
        for part in path.split("."):
            here = here[part]
        del here[index]
    except (KeyError, IndexError, TypeError) as error:
        raise InputError([problem("there is no such section.", file=PLAN_FILE, field=f"{path}[{index}]")]) from error
    return tomlkit.dumps(document)


def _section(values: Mapping[str, object]) -> tomlkit.items.Table:
    table = tomlkit.table()
    for key, value in values.items():
        table[key] = _section(value) if isinstance(value, Mapping) else value
    return table


def _parsed(text: str) -> tomlkit.TOMLDocument:
    try:
        return tomlkit.parse(text)
    except tomlkit.exceptions.ParseError as error:
        raise InputError([_not_toml(str(error), PLAN_FILE)]) from error


def _change(document: Any, path: str, value: object) -> None:  # noqa: ANN401 - tomlkit's containers
    *parents, last = re.findall(r"[^.\[\]]+", path)
    here = document
    try:
        for part in parents:
            if not isinstance(here, list) and part not in here:
                here[part] = tomlkit.table()
            here = here[int(part)] if isinstance(here, list) else here[part]
        if value is None:
            here.pop(last, None)
        else:
            here[int(last) if isinstance(here, list) else last] = value
    except (IndexError, ValueError, TypeError, AttributeError) as error:
        raise InputError([problem("there is no such key.", file=PLAN_FILE, field=path)]) from error
