"""GeoPackage and Shapefile, written by GDAL (through pyogrio)."""

from __future__ import annotations

import io
import tempfile
import zipfile
from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np
import pyogrio
import shapely

from evenground.adapters.export.layers import Layer, Value

WGS84 = "EPSG:4326"
# A dBASE text column holds no more bytes.
LONGEST_TEXT = 254
# The oldest date a ZIP file can hold: the same trial gives the same bytes.
_ZIP_DATE = (1980, 1, 1, 0, 0, 0)


def geopackage(found: Sequence[Layer]) -> bytes:
    """Return one GeoPackage (OGC 12-128) with a table for each layer.

    Parameters
    ----------
    found : sequence of Layer
        What to write.
    """
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "trial.gpkg"
        for layer in found:
            _write(path, layer, driver="GPKG", append=path.exists())
        return path.read_bytes()


def shapefiles(found: Sequence[Layer]) -> dict[str, bytes]:
    """Return the files of one Shapefile for each layer, with coordinate system (.prj) and encoding (.cpg).

    Parameters
    ----------
    found : sequence of Layer
        What to write.

    Returns
    -------
    dict
        File name to content.
    """
    with tempfile.TemporaryDirectory() as folder:
        for layer in found:
            _write(Path(folder) / f"{layer.name}.shp", layer, driver="ESRI Shapefile")
        return {path.name: path.read_bytes() for path in sorted(Path(folder).iterdir())}


def zipped(files: Mapping[str, bytes]) -> bytes:
    """Return files as one ZIP archive, the same bytes each time.

    Parameters
    ----------
    files : mapping
        Name to content.
    """
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files.items():
            archive.writestr(zipfile.ZipInfo(name, _ZIP_DATE), content, zipfile.ZIP_DEFLATED)
    return out.getvalue()


def _fitting(value: Value, shapefile: bool) -> Value:
    """Cut a text to what a column of a Shapefile holds, 254 bytes, without cutting a letter."""
    if not (shapefile and isinstance(value, str)):
        return value
    return value.encode()[:LONGEST_TEXT].decode(errors="ignore")


def _write(path: Path, layer: Layer, *, driver: str, append: bool = False) -> None:
    names = list(layer.features[0].properties)
    shapefile = driver == "ESRI Shapefile"
    columns = [np.array([_fitting(f.properties[name], shapefile) for f in layer.features]) for name in names]
    geometry = np.array([shapely.to_wkb(f.geometry) for f in layer.features], dtype=object)
    pyogrio.raw.write(
        path,
        geometry=geometry,
        field_data=[c.astype(object) if c.dtype.kind == "U" else c for c in columns],
        fields=names,
        layer=layer.name,
        driver=driver,
        geometry_type=layer.geometry.removeprefix("Multi") if shapefile else layer.geometry,
        crs=WGS84,
        encoding="UTF-8",
        append=append,
    )
