"""The files of a terminal's time log (ISO 11783-10): which belong together, and what their headers say."""

from __future__ import annotations

import re
import struct
from collections.abc import Mapping
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path, PurePosixPath
from xml.parsers import expat

from evenground.adapters.reading import read_bytes
from evenground.adapters.zip_file import ZipLimits, read_zip
from evenground.basis.errors import InputError, Problem, problem

LARGEST_HEADER_BYTES = 1_000_000
DEEPEST, MOST_VALUES, MOST_FILES = 40, 255, 200
ARCHIVE = ZipLimits(files=500, whole_bytes=200_000_000, file_bytes=50_000_000)
_LOG_NAME = re.compile(r"TLG\w{1,12}\.(?:XML|BIN)")
# Attributes of PTN in the order of the record, and how each is written there; an attribute with a value is not written.
POSITION = (
    ("A", "i"),  # north
    ("B", "i"),  # east
    ("C", "i"),  # height
    ("D", "B"),  # kind of fix
    ("E", "H"),  # PDOP
    ("F", "H"),  # HDOP
    ("G", "B"),  # satellites
    ("H", "I"),  # UTC time of day
    ("I", "H"),  # UTC day
)


@dataclass(frozen=True)
class LogHeader:
    """What the records of one time log hold.

    Attributes
    ----------
    file : str
        Name of the header, for messages.
    layout : Struct
        Time of day [ms], day, what of the place stands in the record, and the number of values that follow.
    names : tuple of str
        Attributes of the place that stand in the record, in its order.
    fixed : mapping of str to float
        Attributes of the place that hold for all records.
    values : tuple of (int, str)
        DDI and device element of every value, by its number.
    """

    file: str
    layout: struct.Struct
    names: tuple[str, ...]
    fixed: Mapping[str, float]
    values: tuple[tuple[int, str], ...]


def is_time_log(path: Path) -> bool:
    """Say whether a path is a binary time log, its header, or task data in a folder or an archive, by its name.

    Parameters
    ----------
    path : Path
        File or folder.
    """
    return path.is_dir() or path.suffix.lower() in (".xml", ".bin", ".zip")


def time_log_files(path: Path) -> dict[str, bytes]:
    """Read the files that belong to a time log: headers, records, and the task data beside them.

    Parameters
    ----------
    path : Path
        ``TLG00001.XML`` or ``TLG00001.BIN`` for one log; ``TASKDATA.XML``, its folder or a zip of it for all.

    Returns
    -------
    dict
        Name in capital letters to content: header and records of each log in turn, ``TASKDATA.XML`` last.

    Raises
    ------
    InputError
        If there is no time log, half of one is missing, or a file is too large.
    """
    there = _zipped(path) if path.suffix.lower() == ".zip" else _beside(path)
    one = path.stem.upper() if path.suffix.lower() in (".xml", ".bin") and path.stem.upper() != "TASKDATA" else None
    stems = [one] if one else sorted({n[:-4] for n in there if n.startswith("TLG") and n.endswith((".XML", ".BIN"))})
    both = "TLGnnnnn.XML and TLGnnnnn.BIN side by side"
    names = [stem + ending for stem in stems for ending in (".XML", ".BIN")]
    faults = [problem("half of a time log is missing.", file=n, allowed=both) for n in names if n not in there]
    if faults or not stems:
        raise InputError(faults or [problem("there is no time log here.", file=path.name, allowed=both)])
    return {name: there[name] for name in (*names, "TASKDATA.XML") if name in there}


def _beside(path: Path) -> dict[str, bytes]:
    """Read the logs and task data of a folder."""
    folder = path if path.is_dir() else path.parent
    one = None if path.is_dir() or path.stem.upper() == "TASKDATA" else path.stem.upper()
    found = {p.name.upper(): p for p in sorted(folder.iterdir())} if folder.is_dir() else {}
    wanted = {
        name: at
        for name, at in found.items()
        if name == "TASKDATA.XML" or (_LOG_NAME.fullmatch(name) and one in (None, name[:-4])) or name[:-4] == one
    }
    if len(wanted) > MOST_FILES:
        raise InputError(
            [problem("too many logs.", file=path.name, given=len(wanted), allowed=f"at most {MOST_FILES}")]
        )
    return {name: read_bytes(at, at.name) for name, at in wanted.items()}


def _zipped(path: Path) -> dict[str, bytes]:
    """Read the logs and task data of an archive, whatever folder they lie in."""
    files = read_zip(BytesIO(read_bytes(path, path.name)), ARCHIVE)
    named = [(PurePosixPath(name).name.upper(), content) for name, content in files.items()]
    wanted = [(name, content) for name, content in named if name == "TASKDATA.XML" or _LOG_NAME.fullmatch(name)]
    twice = sorted({name for name, _ in wanted if [n for n, _ in wanted].count(name) > 1})
    if twice:
        message = "the archive holds the same log twice, in different folders."
        raise InputError([problem(message, file=path.name, given=", ".join(twice), allowed="one folder TASKDATA")])
    return dict(wanted)


def _elements(data: bytes, file: str) -> list[tuple[int, str, dict[str, str]]]:
    """Return depth, name and attributes of every element; document types and entities are refused."""
    found: list[tuple[int, str, dict[str, str]]] = []
    depth = 0
    parser = expat.ParserCreate()

    def refuse(*_: object) -> None:
        raise InputError([problem("a document type or an entity has no place here.", file=file, allowed="plain XML")])

    def opens(name: str, attributes: dict[str, str]) -> None:
        nonlocal depth
        depth += 1
        if depth > DEEPEST:
            raise InputError([problem("the XML is nested too deep.", file=file, allowed=f"{DEEPEST} levels")])
        found.append((depth, name, attributes))

    def closes(_: str) -> None:
        nonlocal depth
        depth -= 1

    parser.StartDoctypeDeclHandler = parser.EntityDeclHandler = refuse
    parser.StartElementHandler, parser.EndElementHandler = opens, closes
    try:
        parser.Parse(data, True)
    except (expat.ExpatError, ValueError, LookupError) as error:
        raise InputError([problem(f"this is not XML ({error}).", file=file, allowed="well-formed XML")]) from error
    return found


def element_kinds(data: bytes) -> dict[str, int]:
    """Return the kind of every device element of the task data by its id; those without one are left out.

    Parameters
    ----------
    data : bytes
        Content of ``TASKDATA.XML``.
    """
    kinds = ((e.get("A", ""), e.get("C", "")) for _, name, e in _elements(data, "TASKDATA.XML") if name == "DET")
    return {element: int(kind) for element, kind in kinds if kind.isdecimal() and len(kind) < 3}


def log_header(file: str, data: bytes) -> LogHeader:
    """Read what each record holds: an empty attribute stands in the record, one with a value holds for all.

    Parameters
    ----------
    file : str
        Name for messages.
    data : bytes
        Content of the header.

    Raises
    ------
    InputError
        If it is too large, no header of a time log, has no place or no DDI where one must stand.
    """
    if len(data) > LARGEST_HEADER_BYTES:
        allowed = f"at most {LARGEST_HEADER_BYTES / 1e6:g} MB"
        raise InputError([problem("this header is too large.", file=file, given=f"{len(data)} bytes", allowed=allowed)])
    elements = _elements(data, file)
    problems = []
    if elements[0][1] != "TIM" or "A" not in elements[0][2]:
        problems.append(
            problem("this is not the header of a time log.", file=file, given=elements[0][1], allowed="TIM")
        )
    positions = [attributes for depth, name, attributes in elements if name == "PTN" and depth == 2]
    if len(positions) != 1 or not {"A", "B"} <= positions[0].keys():
        message = "the log holds no places, or two."
        problems.append(problem(message, file=file, field="PTN", given=len(positions), allowed="one, with A and B"))
    logged = [attributes for depth, name, attributes in elements if name == "DLV" and depth == 2]
    if len(logged) > MOST_VALUES:
        problems.append(
            problem("too many values.", file=file, field="DLV", given=len(logged), allowed=f"at most {MOST_VALUES}")
        )
    values = []
    for attributes in logged:
        number = attributes.get("A", "")
        if len(number) != 4 or not set(number) <= set("0123456789abcdefABCDEF"):
            problems.append(
                problem("this is no DDI.", file=file, field="DLV A", given=number, allowed="four hexadecimal digits")
            )
        else:
            values.append((int(number, 16), attributes.get("C", "")))
    if problems:
        raise InputError(problems)
    fixed, faults = _fixed(file, positions[0])
    if faults:
        raise InputError(faults)
    in_record = [(name, code) for name, code in POSITION if positions[0].get(name) == ""]
    layout = struct.Struct("<IH" + "".join(code for _, code in in_record) + "B")
    return LogHeader(file, layout, tuple(name for name, _ in in_record), fixed, tuple(values))


def _fixed(file: str, position: Mapping[str, str]) -> tuple[dict[str, float], list[Problem]]:
    """Read the attributes of the position that hold for all records; places are written as degrees there."""
    found, problems = {}, []
    for name, _ in POSITION:
        text = position.get(name, "")
        if text:
            try:
                found[name] = float(text)
            except ValueError:
                problems.append(
                    problem("this is no number.", file=file, field=f"PTN {name}", given=text, allowed="a number")
                )
    return found, problems
