"""Archives from outside: opened only when no name leads out of them, nothing is a link, and their size is bounded."""

from __future__ import annotations

import re
import stat
import zipfile
import zlib
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import PurePosixPath
from typing import IO

from evenground.basis.errors import InputError, Problem, problem

SYSTEM_IS_UNIX = 3
PROBLEMS_TOLD = 40
_CHUNK_BYTES = 1 << 20
_ODD_NAME = re.compile(r"[\x00-\x1f\x7f\\:]")


@dataclass(frozen=True)
class ZipLimits:
    """How much an archive may hold.

    Attributes
    ----------
    files : int
        Files [1].
    whole_bytes : int
        Everything unpacked [B].
    file_bytes : int
        One file unpacked [B].
    ratio : float
        Unpacked to packed size of the whole [1]; text packs ten to twenty times, a bomb a thousand times.
    name_signs : int
        Signs of a path [1].
    """

    files: int = 2000
    whole_bytes: int = 300_000_000
    file_bytes: int = 60_000_000
    ratio: float = 150.0
    name_signs: int = 200


TRIAL_LIMITS = ZipLimits()
FREE_OF_RATIO_BYTES = 2_000_000
"""Archives that unpack to less than this are not asked for their ratio: a few empty tables pack very well."""


def read_zip(file: IO[bytes], limits: ZipLimits = TRIAL_LIMITS) -> dict[str, bytes]:
    """Unpack an archive into memory.

    Sizes are counted while unpacking: what the archive says of itself is not believed.

    Parameters
    ----------
    file : binary file
        The archive.
    limits : ZipLimits
        How much it may hold.

    Returns
    -------
    dict
        Path to content, in the order of the archive; folders are left out.

    Raises
    ------
    InputError
        With every problem found; nothing is unpacked then.
    """
    try:
        with zipfile.ZipFile(file) as archive:
            entries = [e for e in archive.infolist() if not e.is_dir()]
            problems = _entry_problems(archive.infolist(), limits)
            if problems:
                raise InputError(problems[:PROBLEMS_TOLD])
            packed = max(1, sum(e.compress_size for e in entries))
            return _unpacked(archive, entries, packed, limits)
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError, OSError, ValueError) as error:
        text = "this is not a zip archive that can be opened, or it is damaged."
        raise InputError([problem(text, given=str(error)[:200], allowed="a zip archive")]) from error


def _entry_problems(entries: Iterable[zipfile.ZipInfo], limits: ZipLimits) -> list[Problem]:
    """List everything wrong with names, kinds, number and told sizes."""
    every = list(entries)
    problems = [] if len(every) <= limits.files else [_too_many(len(every), limits)]
    seen: set[str] = set()
    for entry in every[: limits.files]:
        problems += _name_problems(entry.filename, limits)
        if entry.create_system == SYSTEM_IS_UNIX and not _plain(entry.external_attr >> 16):
            problems.append(problem("this is a link or a device.", file=entry.filename, allowed="plain files"))
        if entry.flag_bits & 0x1:
            problems.append(problem("this file is locked with a password.", file=entry.filename, allowed="open files"))
        if entry.filename.casefold() in seen:
            problems.append(problem("this name is there twice.", file=entry.filename, allowed="each name once"))
        seen.add(entry.filename.casefold())
        if entry.file_size > limits.file_bytes:
            problems.append(_too_large(entry.filename, entry.file_size, limits.file_bytes))
    whole = sum(e.file_size for e in every)
    if whole > limits.whole_bytes:
        problems.append(_too_large("", whole, limits.whole_bytes))
    return problems


def _plain(mode: int) -> bool:
    return stat.S_IFMT(mode) in (0, stat.S_IFREG, stat.S_IFDIR)


def _name_problems(name: str, limits: ZipLimits) -> list[Problem]:
    """List what is wrong with a path in an archive."""
    path = PurePosixPath(name)
    if (
        path.is_absolute()
        or ".." in path.parts
        or _ODD_NAME.search(name)
        or not name.strip("/. ")
        or not _encodes(name)
    ):
        shown = name.encode("ascii", "replace").decode()[: limits.name_signs]
        allowed = "names below the folder itself"
        return [problem("this name leads out of the archive or has odd signs.", file=shown, allowed=allowed)]
    if len(name) > limits.name_signs:
        allowed = f"at most {limits.name_signs} signs"
        return [problem("this name is too long.", file=name[:60] + "...", given=len(name), allowed=allowed)]
    return []


def _encodes(name: str) -> bool:
    try:
        name.encode()
    except UnicodeEncodeError:
        return False
    return True


def _unpacked(
    archive: zipfile.ZipFile, entries: Iterable[zipfile.ZipInfo], packed_bytes: int, limits: ZipLimits
) -> dict[str, bytes]:
    """Unpack file by file, counting."""
    out: dict[str, bytes] = {}
    whole = 0
    for entry in entries:
        parts, size = [], 0
        with archive.open(entry) as source:
            while chunk := source.read(_CHUNK_BYTES):
                parts.append(chunk)
                size, whole = size + len(chunk), whole + len(chunk)
                if size > limits.file_bytes:
                    raise InputError([_too_large(entry.filename, size, limits.file_bytes)])
                if whole > limits.whole_bytes:
                    raise InputError([_too_large("", whole, limits.whole_bytes)])
                if whole > max(FREE_OF_RATIO_BYTES, limits.ratio * packed_bytes):
                    text = "this archive unpacks to far more than it holds; it looks like one made to fill a disk."
                    raise InputError([problem(text, given=f"more than {limits.ratio:g} times its size")])
        out[entry.filename] = b"".join(parts)
    return out


def _too_many(n: int, limits: ZipLimits) -> Problem:
    return problem("this archive holds too many files.", given=n, allowed=f"at most {limits.files} files")


def _too_large(name: str, size: int, most: int) -> Problem:
    text = "this file is too large unpacked." if name else "this archive is too large unpacked."
    return problem(text, file=name, given=f"{size / 1e6:.1f} MB", allowed=f"at most {most / 1e6:g} MB")


def write_zip(files: Iterable[tuple[str, bytes]], to: IO[bytes]) -> None:
    """Pack files into an archive.

    Parameters
    ----------
    files : iterable of (str, bytes)
        Path and content.
    to : binary file
        Where to write.
    """
    with zipfile.ZipFile(to, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files:
            # Pictures are packed already.
            packed = zipfile.ZIP_STORED if name.lower().endswith((".jpg", ".jpeg", ".png", ".zip")) else None
            archive.writestr(name, content, compress_type=packed)
