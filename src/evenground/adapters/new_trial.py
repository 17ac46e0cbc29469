"""Starting a trial: a folder with a commented plan, a page of plain words, and empty tables for the records."""

from __future__ import annotations

import json
from importlib import resources
from pathlib import Path

from evenground.adapters.files import write_atomically
from evenground.adapters.folder_reading import RECORDS
from evenground.adapters.plan_file import change_plan_text
from evenground.adapters.record_writing import canonical_columns, rows_text
from evenground.adapters.trial_folder import TrialFolder
from evenground.basis.observations import RECORD_KINDS

README_FILE = "README.txt"
COMMA_STYLE = "1.234,5"


def template(season: int, *, decimal_comma: bool = False) -> str:
    """Return the text of a new plan.

    Parameters
    ----------
    season : int
        Year of harvest.
    decimal_comma : bool
        Whether the record tables are to be written with a decimal comma, and semicolons between cells.

    Examples
    --------
    >>> template(2027).splitlines()[0]
    '# The plan of one trial: what you mean to do, written down before the season.'
    """
    text = change_plan_text(_own_text("new_trial.toml"), {"trial.season": season})
    if decimal_comma:
        for kind in RECORD_KINDS:
            text += f"\n[files.{json.dumps(f'{RECORDS}/{kind}.csv')}]\nnumber_style = {json.dumps(COMMA_STYLE)}\n"
    return text


def start_trial(path: Path, season: int, *, decimal_comma: bool = False) -> TrialFolder:
    """Make a new trial folder.

    Parameters
    ----------
    path : Path
        A folder that is not there yet, or is empty.
    season : int
        Year of harvest.
    decimal_comma : bool
        Whether the record tables use a decimal comma and semicolons.

    Raises
    ------
    InputError
        If the folder holds something already; nothing is written then.
    """
    folder = TrialFolder.create(path, template(season, decimal_comma=decimal_comma))
    write_atomically(path / README_FILE, _own_text("new_trial_readme.txt").encode())
    for kind in RECORD_KINDS:
        header = rows_text([], canonical_columns(kind), delimiter=";" if decimal_comma else ",")
        write_atomically(path / RECORDS / f"{kind}.csv", header.encode())
    return folder


def _own_text(name: str) -> str:
    return resources.files("evenground.adapters").joinpath(name).read_text(encoding="utf-8")
