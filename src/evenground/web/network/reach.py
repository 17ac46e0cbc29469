"""The names and addresses under which other machines of the farm reach this one."""

from __future__ import annotations

import contextlib
import socket

from evenground.web.network.authority import may_vouch


def reach(extra: str | None = None) -> tuple[str, ...]:
    """List them, the best for a phone first: a name given, private addresses, the machine's name in the local network.

    Parameters
    ----------
    extra : str or None
        A name or address the farmer gives.

    Returns
    -------
    tuple of str
        At least ``localhost``; only private addresses, because the farm's authority vouches for no others.
    """
    host = socket.gethostname().split(".")[0].lower()
    names = [extra, *private_addresses(), f"{host}.local" if host else None, "localhost", "127.0.0.1"]
    return tuple(dict.fromkeys(n for n in names if n))


def private_addresses() -> tuple[str, ...]:
    """Return this machine's private addresses, the one of the default way out first; nothing is sent."""
    found: list[str] = []
    for family, far in ((socket.AF_INET, "192.0.2.1"), (socket.AF_INET6, "2001:db8::1")):
        try:
            with socket.socket(family, socket.SOCK_DGRAM) as probe:
                probe.connect((far, 9))  # a datagram socket only looks up the way; no packet leaves
                found.append(str(probe.getsockname()[0]))
        except OSError:
            continue
    with contextlib.suppress(OSError):
        found += [str(entry[4][0]) for entry in socket.getaddrinfo(socket.gethostname(), None)]
    return tuple(dict.fromkeys(a for a in found if may_vouch(a) and not a.startswith(("127.", "fe80", "169.254."))))
