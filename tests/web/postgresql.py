"""A PostgreSQL server for tests: in a folder of its own, on a socket of its own, gone afterwards."""

from __future__ import annotations

import contextlib
import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from pathlib import Path

ROLE = "evenground"


def binaries() -> Path | None:
    """Return the folder with PostgreSQL's programs, or None."""
    for folder in sorted(Path("/usr/lib/postgresql").glob("*/bin"), reverse=True):
        if (folder / "initdb").is_file():
            return folder
    found = shutil.which("initdb")
    return Path(found).resolve().parent if found else None


def _as_postgres() -> list[str]:
    """The server refuses to run as root."""
    return ["runuser", "-u", "postgres", "--"] if os.geteuid() == 0 else []


@contextlib.contextmanager
def running_postgresql() -> Iterator[str]:
    """Start a server; gives the address of a database in it."""
    programs = binaries()
    assert programs is not None, "needs PostgreSQL"
    place = Path(tempfile.mkdtemp(prefix="eg-pg-"))
    if os.geteuid() == 0:
        shutil.chown(place, "postgres")
    place.chmod(0o755)
    data, who = place / "data", _as_postgres()

    def run(*command: object, quiet: int = subprocess.PIPE) -> None:
        # What the server writes must not hold this process's pipe open.
        subprocess.run([*who, *map(str, command)], check=True, timeout=120, cwd=place, stdout=quiet, stderr=quiet)

    try:
        run(programs / "initdb", "-D", data, "-U", ROLE, "--auth=trust", "-E", "UTF8", "--no-sync", "--locale=C")
        # Tests end with the server: nothing needs to be safe on the disk, and no port is opened.
        options = f"-c fsync=off -c listen_addresses='' -c unix_socket_directories='{place}' -c max_connections=60"
        start = ["-D", data, "-w", "-t", "60", "-l", place / "log", "-o", options, "start"]
        run(programs / "pg_ctl", *start, quiet=subprocess.DEVNULL)
        run(programs / "createdb", "-h", place, "-U", ROLE, "evenground")
        yield f"postgresql://{ROLE}@/evenground?host={place}"
    finally:
        if (data / "postmaster.pid").exists():
            run(programs / "pg_ctl", "-D", data, "-m", "immediate", "stop")
        shutil.rmtree(place, ignore_errors=True)
