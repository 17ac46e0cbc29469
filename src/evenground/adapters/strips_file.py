"""Strips as GeoJSON: a map for any GIS, and in a member of its own every draw to the last digit."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable, Sequence
from typing import Any

from pydantic import ValidationError

from evenground.adapters.geojson import read_json
from evenground.basis.errors import Problem, problem
from evenground.basis.record import problems_of
from evenground.basis.strip import Draw, Strip
from evenground.layout.split_draw import whole_set

STRIPS_FILE = "strips.geojson"
MEMBER = "evenground"
_LOST = "this file does not carry its draws; a program that saved it left them out. Put the original back."


def strips_text(draws: Sequence[Draw]) -> str:
    """Write all draws; the map shows the last one.

    Parameters
    ----------
    draws : sequence of Draw
        Oldest first, at least one.

    Returns
    -------
    str
        GeoJSON: one feature a strip (``role`` strip) and one a weighed cut (``role`` weighed_cut), coordinates to nine
        decimals (0.1 mm); the member ``evenground`` holds the draws with all digits.
    """
    features = [f for s in draws[-1].strips for f in _features(s)]
    content = {
        "type": "FeatureCollection",
        "features": features,
        MEMBER: {"format": 1, "draws": [d.model_dump(mode="json") for d in draws]},
    }
    return json.dumps(content, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def _features(strip: Strip) -> Iterable[dict[str, Any]]:
    numbers = strip.model_dump(mode="json", exclude={"outline", "cut_outline"}, exclude_none=True)
    for role, ring in (("strip", strip.outline), ("weighed_cut", strip.cut_outline)):
        corners = [[round(x, 9), round(y, 9)] for x, y in ring]
        yield {
            "type": "Feature",
            "properties": {"role": role, **numbers},
            "geometry": {"type": "Polygon", "coordinates": [corners]},
        }


def read_strips(
    data: bytes, letters: Sequence[str] | None = None, file: str = STRIPS_FILE
) -> tuple[tuple[Draw, ...], list[Problem]]:
    """Read all draws.

    Parameters
    ----------
    data : bytes
        The file.
    letters : sequence of str or None
        Method letters of the plan, where it is known.
    file : str
        Its name in messages.

    Returns
    -------
    draws : tuple of Draw
        Oldest first; those that are sound.
    problems : list of Problem
        What is wrong.
    """
    content, problems = read_json(data, file)
    if problems:
        return (), problems
    member = content.get(MEMBER) if isinstance(content, dict) else None
    listed = member.get("draws") if isinstance(member, dict) else None
    if not isinstance(listed, list) or not listed:
        return (), [problem(_LOST, file=file, field=MEMBER, allowed="a list of draws")]
    draws: list[Draw] = []
    for i, item in enumerate(listed):
        place = f"{MEMBER}.draws[{i}]"
        try:
            draw = Draw.model_validate(item)
        except ValidationError as error:
            problems += [_deeper(p, place) for p in problems_of(error, file=file, model=Draw)]
            continue
        problems += draw_problems(draw, i + 1, letters if i == len(listed) - 1 else None, file, place)
        draws.append(draw)
    if not problems:
        problems += _map_problems(content, draws[-1], file)
    return tuple(draws), problems


def _deeper(fault: Problem, place: str) -> Problem:
    field = f"{place}.{fault.field}" if fault.field else place
    return Problem(fault.file, fault.row, field, fault.given, fault.allowed, fault.message)


def draw_problems(
    draw: Draw, number: int, letters: Sequence[str] | None, file: str = STRIPS_FILE, place: str = MEMBER
) -> list[Problem]:
    """List what is wrong with a draw: its number, strip numbers used twice, method letters that are not in the plan."""
    out = []
    if draw.number != number:
        allowed, message = str(number), "draws are numbered from 1 without gaps."
        out.append(problem(message, file=file, field=f"{place}.number", given=draw.number, allowed=allowed))
    if number > 1 and not draw.reason.strip():
        message = "a draw after the first needs a reason."
        out.append(problem(message, file=file, field=f"{place}.reason", allowed="why the strips were drawn again"))
    if not draw.strips:
        out.append(problem("this draw has no strips.", file=file, field=f"{place}.strips", allowed="at least 1 strip"))
    for strip, n in Counter(s.strip for s in draw.strips).items():
        if n > 1:
            message = f"strip number {strip} is used {n} times."
            out.append(problem(message, file=file, field=f"{place}.strips", given=strip, allowed="each number once"))
    for i, strip_record in enumerate(draw.strips):
        if letters is not None and strip_record.method not in letters:
            where, allowed = f"{place}.strips[{i}].method", "one of " + ", ".join(letters)
            message = f"strip {strip_record.strip} carries a method letter that is not in the plan."
            out.append(problem(message, file=file, field=where, given=strip_record.method, allowed=allowed))
    return out + _plot_problems(draw, file, place)


def _plot_problems(draw: Draw, file: str, place: str) -> list[Problem]:
    """Say where whole plots of a draw of two factors were broken."""
    if draw.split is None or not draw.strips:
        return []
    try:
        whole_set(draw)
    except ValueError as error:
        allowed = "strips side by side with one row pattern, each rate once"
        return [problem(f"{error}.", file=file, field=f"{place}.strips", allowed=allowed)]
    return []


def _map_problems(content: dict[str, Any], draw: Draw, file: str) -> list[Problem]:
    """Say where the map was changed by hand and no longer shows the draw."""
    meant = {s.strip: (s.block, s.method) for s in draw.strips}
    out = []
    features = content.get("features")
    for i, item in enumerate(features if isinstance(features, list) else []):
        said = item.get("properties") if isinstance(item, dict) else None
        if not isinstance(said, dict) or said.get("role") != "strip":
            continue
        shown = (said.get("block"), said.get("method"))
        if meant.get(said.get("strip", 0)) != shown:
            message = "the map does not show what was drawn; changes are recorded as events, the draw stays as it was."
            allowed = str(meant.get(said.get("strip", 0), "a strip of the draw"))
            given = f"strip {said.get('strip')}: {shown}"
            out.append(problem(message, file=file, field=f"features[{i}].properties", given=given, allowed=allowed))
    return out
