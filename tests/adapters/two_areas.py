"""Two invented areas side by side, as GeoJSON, for tests."""

import json

# 0.0001 degrees of latitude are 11.1 m, of longitude at 51 degrees north 7.0 m
LON, LAT = 9.0, 51.0


def area(method, west, east, **more):
    ring = [[west, LAT], [east, LAT], [east, LAT + 0.002], [west, LAT + 0.002], [west, LAT]]
    geometry = {"type": "Polygon", "coordinates": [ring]}
    return {"type": "Feature", "properties": {"method": method, **more}, "geometry": geometry}


def areas(*features):
    return json.dumps({"type": "FeatureCollection", "features": list(features)})


TWO = areas(area("A", LON, LON + 0.001, sown="2026-04-28"), area("B", LON + 0.001, LON + 0.002, sown="2026-05-06"))
