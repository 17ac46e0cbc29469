"""Archives from outside: opened only when no name leads out of them, nothing is a link, and their size is bounded."""

from __future__ import annotations

import io
import re
import stat
import zipfile
import zlib
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import PurePosixPath
from typing import IO, TYPE_CHECKING

from evenground.basis.errors import InputError, Problem, problem

if TYPE_CHECKING:
    from typing_extensions import Buffer

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
    return open_zip(file, limits).walked(keep=lambda _name: True)


def open_zip(file: IO[bytes], limits: ZipLimits = TRIAL_LIMITS) -> CheckedZip:
    """Open an archive whose names, kinds and told sizes are all right; nothing is unpacked yet.

    Parameters
    ----------
    file : binary file
        The archive.
    limits : ZipLimits
        How much it may hold.

    Raises
    ------
    InputError
        With every problem found.
    """
    with _told():
        archive = zipfile.ZipFile(file)  # of a file that its owner closes
        problems = _entry_problems(archive.infolist(), limits)
    if problems:
        raise InputError(problems[:PROBLEMS_TOLD])
    return CheckedZip(archive, {e.filename: e for e in archive.infolist() if not e.is_dir()}, limits)


@contextmanager
def _told() -> Iterator[None]:
    """Say what is wrong with an archive that cannot be read."""
    try:
        yield
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError, OSError, ValueError) as error:
        text = "this is not a zip archive that can be opened, or it is damaged."
        raise InputError([problem(text, given=str(error)[:200], allowed="a zip archive")]) from error


@dataclass(frozen=True)
class CheckedZip:
    """An archive from outside that was looked at from outside; what is in it is counted whenever it is unpacked.

    Attributes
    ----------
    archive : ZipFile
        The archive.
    entries : dict
        Its files by path, in its order; folders are left out.
    limits : ZipLimits
        How much it may hold.
    """

    archive: zipfile.ZipFile
    entries: dict[str, zipfile.ZipInfo]
    limits: ZipLimits

    @property
    def whole_bytes(self) -> int:
        """How large it says it is unpacked [B]."""
        return sum(entry.file_size for entry in self.entries.values())

    def chunks(self, name: str) -> Iterator[bytes]:
        """Unpack one file piece by piece, counting; its check sum is looked at with the last piece.

        Parameters
        ----------
        name : str
            Its path.

        Raises
        ------
        InputError
            If it is damaged, or larger than allowed.
        """
        size = 0
        with _told(), self.archive.open(self.entries[name]) as source:
            while chunk := source.read(_CHUNK_BYTES):
                size += len(chunk)
                if size > self.limits.file_bytes:
                    break
                yield chunk
        if size > self.limits.file_bytes:
            raise InputError([_too_large(name, size, self.limits.file_bytes)])

    def content(self, name: str) -> bytes:
        """Unpack one file into memory; see `chunks`."""
        return b"".join(self.chunks(name))

    def walked(
        self, *, keep: Callable[[str], bool], seen: Callable[[str, bytes], None] = lambda _name, _chunk: None
    ) -> dict[str, bytes]:
        """Unpack every file once, counting, so that nothing is stored of an archive that is damaged or too large.

        Parameters
        ----------
        keep : callable
            Says of a path whether its content is kept in memory.
        seen : callable
            Gets path and piece, one after the other; an empty file is one empty piece.

        Returns
        -------
        dict
            Path to content of what was kept.

        Raises
        ------
        InputError
            If anything in it is damaged, or larger than allowed.
        """
        packed = max(1, sum(e.compress_size for e in self.entries.values()))
        out: dict[str, bytes] = {}
        whole = 0
        for name in self.entries:
            parts: list[bytes] = []
            seen(name, b"")
            for chunk in self.chunks(name):
                whole += len(chunk)
                self._bounded(whole, packed)
                seen(name, chunk)
                if keep(name):
                    parts.append(chunk)
            if keep(name):
                out[name] = b"".join(parts)
        return out

    def _bounded(self, whole: int, packed: int) -> None:
        if whole > self.limits.whole_bytes:
            raise InputError([_too_large("", whole, self.limits.whole_bytes)])
        if whole > max(FREE_OF_RATIO_BYTES, self.limits.ratio * packed):
            text = "this archive unpacks to far more than it holds; it looks like one made to fill a disk."
            raise InputError([problem(text, given=f"more than {self.limits.ratio:g} times its size")])


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
    for _written in _packing(files, to):
        pass


def zip_pieces(files: Iterable[tuple[str, bytes]]) -> Iterator[bytes]:
    """Pack files into an archive that is handed on while it is made; never more than one file of it is in memory.

    Parameters
    ----------
    files : iterable of (str, bytes)
        Path and content.

    Yields
    ------
    bytes
        The next piece of the archive.
    """
    out = _Handed()
    for _written in _packing(files, out):
        yield out.taken()
    yield out.taken()


class _Handed(io.RawIOBase):
    """A file that can only be written on; what was written is taken away from it."""

    def __init__(self) -> None:
        super().__init__()
        self._parts: list[bytes] = []

    def writable(self) -> bool:
        return True

    def write(self, data: Buffer) -> int:
        self._parts.append(bytes(data))
        return len(self._parts[-1])

    def taken(self) -> bytes:
        parts, self._parts = self._parts, []
        return b"".join(parts)


def _packing(files: Iterable[tuple[str, bytes]], to: IO[bytes] | io.RawIOBase) -> Iterator[str]:
    """Write file after file, and say after each which it was; the list of contents comes after the last."""
    with zipfile.ZipFile(to, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files:
            # Pictures are packed already.
            packed = zipfile.ZIP_STORED if name.lower().endswith((".jpg", ".jpeg", ".png", ".zip")) else None
            archive.writestr(name, content, compress_type=packed)
            yield name
