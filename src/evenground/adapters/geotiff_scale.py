"""The side of a pixel as a map picture's own tags state it (GeoTIFF).

Source: OGC 19-008r4, OGC GeoTIFF Standard 1.1 (2019): ModelPixelScaleTag 33550, GeoKeyDirectoryTag 34735, key
GTModelTypeGeoKey 1024; its code 1 (projected), key ProjLinearUnitsGeoKey 3076 and its code 9001 (metre) from memory.
A turned map picture (ModelTransformationTag) needs a world file.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from evenground.adapters.photo_scale import scale_problems
from evenground.basis.errors import Problem, problem

PIXEL_SCALE, KEY_DIRECTORY = 33550, 34735
MODEL_TYPE, LINEAR_UNITS = 1024, 3076
PROJECTED, METRE = 1, 9001
SIDES_ALIKE = 0.02


def scale_of_tile(tags: Mapping[int, Any], file: str) -> tuple[float, str, list[Problem]]:
    """Return the side of a pixel by the tags of a map picture [m], in words, and what is wrong with it.

    Parameters
    ----------
    tags : mapping of int to tuple
        Tags of the TIFF, `PIXEL_SCALE` among them.
    file : str
        Name of the picture, for messages.
    """
    side_x, side_y = (float(v) for v in (*tags[PIXEL_SCALE], 0.0, 0.0)[:2])
    keys = tuple(tags.get(KEY_DIRECTORY, ()))
    # four numbers a key after a head of four: which key, where its value stands (0: here), how many, the value
    values = {keys[i]: keys[i + 3] for i in range(4, len(keys) - 3, 4) if keys[i + 1] == 0}
    if values.get(MODEL_TYPE, PROJECTED) != PROJECTED:
        text = "this map picture is in degrees; save it again in a metric system (UTM, for example)."
        return 0.0, "", [problem(text, file=file, given=f"{side_x:g} a pixel", allowed="metres a pixel")]
    if values.get(LINEAR_UNITS, METRE) != METRE:
        text = "this map picture is not in metres; save it again in a metric system (UTM, for example)."
        given = f"unit {values[LINEAR_UNITS]}"
        return 0.0, "", [problem(text, file=file, given=given, allowed=f"unit {METRE} (metre)")]
    if not side_x > 0.0 or abs(side_x - side_y) > SIDES_ALIKE * side_x:
        text, given = "the pixels are not square.", f"{side_x:g} by {side_y:g}"
        return 0.0, "", [problem(text, file=file, given=given, allowed="both sides alike within 2 %")]
    return side_x, "the tags of the map picture, in metres", scale_problems(side_x, file, "")
