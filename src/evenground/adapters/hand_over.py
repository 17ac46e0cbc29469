"""A drawn trial handed over in one of many forms: which form makes which files, and where they are written."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

from evenground.adapters.files import write_atomically
from evenground.basis.errors import InputError, problem
from evenground.basis.field import Field
from evenground.basis.observations import current
from evenground.basis.store import Stored
from evenground.basis.strip import Draw
from evenground.season.daily import Years

Files = dict[str, bytes]


@dataclass(frozen=True)
class _Drawn:
    """A trial whose field is known and whose strips are drawn."""

    stored: Stored
    field: Field
    draw: Draw
    version: str
    years: Years | None


def _geojson(trial: _Drawn) -> Files:
    from evenground.adapters.export.geojson import geojson
    from evenground.adapters.export.layers import layers

    return {"trial.geojson": geojson(layers(trial.stored.plan, trial.field, trial.draw))}


def _gpkg(trial: _Drawn) -> Files:
    from evenground.adapters.export.gis_files import geopackage
    from evenground.adapters.export.layers import layers

    return {"trial.gpkg": geopackage(layers(trial.stored.plan, trial.field, trial.draw))}


def _shp(trial: _Drawn) -> Files:
    from evenground.adapters.export.gis_files import shapefiles, zipped
    from evenground.adapters.export.layers import layers

    return {"shapefiles.zip": zipped(shapefiles(layers(trial.stored.plan, trial.field, trial.draw)))}


def _kml(trial: _Drawn) -> Files:
    from evenground.adapters.export.kml import kml
    from evenground.adapters.export.layers import layers

    plan = trial.stored.plan
    return {"trial.kml": kml(layers(plan, trial.field, trial.draw), plan.trial.name, plan.letters)}


def _gpx(trial: _Drawn) -> Files:
    from evenground.adapters.export.gpx import gpx
    from evenground.adapters.export.layers import layers

    plan = trial.stored.plan
    return {"trial.gpx": gpx(layers(plan, trial.field, trial.draw), plan.trial.name)}


def _isoxml(trial: _Drawn) -> Files:
    from evenground.adapters.export.layers import layers
    from evenground.adapters.export.task_data import FILE_NAME, task_data

    plan = trial.stored.plan
    return {FILE_NAME: task_data(plan, layers(plan, trial.field, trial.draw), version=trial.version)}


def _ics(trial: _Drawn) -> Files:
    from evenground.adapters.export.calendar import calendar, with_agenda

    plan, records = trial.stored.plan, trial.stored.records
    events, tasks = current(records.events), None
    if current(records.weather):
        from evenground.season.summary import season_summary

        # The summary knows corrections by itself; the crop's heat gives dates that the year alone cannot.
        long = trial.years.weather if trial.years is not None else None
        found = season_summary(plan, trial.draw, records, trial.field.boundary.centroid.y, long)
        tasks = with_agenda(plan, events, found.agenda)
    return {"trial.ics": calendar(plan, trial.draw, events, tasks)}


def _pack(trial: _Drawn) -> Files:
    from evenground.adapters.contractor_pack import contractor_pack

    pack = contractor_pack(trial.stored.plan, trial.field, trial.draw, version=trial.version)
    return {"contractor-pack.zip": pack}


def _plan(trial: _Drawn) -> Files:
    from evenground.adapters.field_plan import field_plan, fixed_page_pdf

    stored = trial.stored
    return {
        "field-plan.pdf": field_plan(stored.plan, trial.field, trial.draw),
        "fixed-before-harvest.pdf": fixed_page_pdf(stored.plan, stored.draws, stored.plan_hash),
    }


def _sign(trial: _Drawn) -> Files:
    from evenground.adapters.field_sign import field_sign

    return {"field-sign.pdf": field_sign(trial.stored.plan, trial.field, trial.draw)}


# Each imports what it needs when it is asked for: GDAL and the setter are not loaded for a calendar.
FORMATS: Mapping[str, Callable[[_Drawn], Files]] = {
    "geojson": _geojson,
    "gpkg": _gpkg,
    "shp": _shp,
    "kml": _kml,
    "gpx": _gpx,
    "isoxml": _isoxml,
    "ics": _ics,
    "pack": _pack,
    "plan": _plan,
    "sign": _sign,
}


def hand_over(stored: Stored, form: str, *, version: str, years: Years | None = None) -> Files:
    """Return the files of one form.

    Parameters
    ----------
    stored : Stored
        The trial.
    form : str
        One of `FORMATS`.
    version : str
        Program version.
    years : Years or None
        Weather of earlier years, for the dates ahead in the calendar.

    Returns
    -------
    dict
        File name to content.

    Raises
    ------
    InputError
        If there is no such form, no drawn strips, or no field outline.
    """
    if form not in FORMATS:
        text = "there is no such form to hand a trial over in."
        raise InputError([problem(text, field="--to", given=form, allowed="one of " + ", ".join(FORMATS))])
    if stored.draw is None:
        text = "no strips are drawn yet; 'evenground layout' draws them."
        raise InputError([problem(text, file="strips.geojson", allowed="a drawn trial")])
    if stored.field is None:
        text = "the outline of the field is missing; save it as GeoJSON in this file."
        raise InputError([problem(text, file="field.geojson", allowed="a polygon")])
    return FORMATS[form](_Drawn(stored, stored.field, stored.draw, version, years))


def write_files(files: Files, out: Path) -> tuple[Path, ...]:
    """Write files into a folder, or a single one under the name asked for.

    Parameters
    ----------
    files : dict
        File name to content.
    out : Path
        A folder, made if it is not there; for a single file also a file name with the same ending.

    Returns
    -------
    tuple of Path
        The files written, each as a whole or not at all.

    Raises
    ------
    InputError
        If nothing can be written there.
    """
    names = list(files)
    one = len(names) == 1 and out.suffix.lower() == Path(names[0]).suffix.lower() and not out.is_dir()
    paths = {name: out if one else out / name for name in names}
    try:
        for name, path in paths.items():
            write_atomically(path, files[name])
    except OSError as error:
        text = f"the files cannot be written here: {error.strerror}."
        raise InputError([problem(text, field="--out", given=out, allowed="a folder to write into")]) from error
    return tuple(paths.values())
