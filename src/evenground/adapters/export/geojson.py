"""All layers in one GeoJSON file (RFC 7946): longitude first, WGS84, outer rings counter-clockwise."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

from shapely.geometry import mapping

from evenground.adapters.export.layers import Layer

# Nine decimals of a degree are 0.1 mm.
DECIMALS = 9


def geojson(found: Sequence[Layer]) -> bytes:
    """Return the layers as one FeatureCollection; property ``layer`` says which each feature belongs to.

    Parameters
    ----------
    found : sequence of Layer
        What to write.
    """
    features = [
        {
            "type": "Feature",
            "properties": {"layer": layer.name, **feature.properties},
            "geometry": _rounded(mapping(feature.geometry)),
        }
        for layer in found
        for feature in layer.features
    ]
    content = {"type": "FeatureCollection", "features": features}
    return (json.dumps(content, ensure_ascii=False, allow_nan=False, indent=1) + "\n").encode()


def _rounded(value: Any) -> Any:  # noqa: ANN401 - nested lists of coordinates
    if isinstance(value, float):
        return round(value, DECIMALS)
    if isinstance(value, dict):
        return {k: _rounded(v) for k, v in value.items()}
    return [_rounded(v) for v in value] if isinstance(value, list | tuple) else value
