"""The server: one process, threads, http on loopback or https on the farm network."""

from __future__ import annotations

import signal
import threading
from collections.abc import Callable
from types import FrameType
from typing import Any

from cheroot.ssl.builtin import BuiltinSSLAdapter
from cheroot.wsgi import Server

from evenground.web.network.authority import Papers

THREADS = 12
WAITING = 60
LARGEST_REQUEST_BYTES = 320_000_000
"""A trial with its photographs comes as one zip; pages bound their own uploads far below."""
LARGEST_HEADERS_BYTES = 64_000
PATIENCE_S = 30


def make_server(
    application: Callable[..., Any], *, host: str, port: int, papers: Papers | None = None, threads: int = THREADS
) -> Server:
    """Return a server that is ready to be started.

    Parameters
    ----------
    application : callable
        WSGI application.
    host : str
        Address to listen on; ``127.0.0.1`` is this machine only.
    port : int
        Port; 0 takes a free one.
    papers : Papers or None
        Certificate and key for https; without them it speaks http.
    threads : int
        Requests answered at the same time [1].
    """
    server = Server(
        (host, port),
        application,
        numthreads=threads,
        request_queue_size=WAITING,
        timeout=PATIENCE_S,
        shutdown_timeout=5,
        server_name="evenground",
    )
    server.max_request_body_size = LARGEST_REQUEST_BYTES
    server.max_request_header_size = LARGEST_HEADERS_BYTES
    if papers is not None:
        server.ssl_adapter = BuiltinSSLAdapter(str(papers.certificate), str(papers.key))
    return server


def run_until_stopped(server: Server, on_ready: Callable[[str, int], None], *beside: Server) -> None:
    """Serve until Ctrl-C or an orderly end (SIGTERM); requests under way are finished.

    Parameters
    ----------
    server : Server
        From `make_server`.
    on_ready : callable
        Told the address and port once they are bound.
    *beside : Server
        Smaller servers that run in threads as long as the first one.

    Raises
    ------
    OSError
        If a port is taken.
    """

    def end(_signal: int, _frame: FrameType | None) -> None:
        # Raised, as Ctrl-C is: a server told to stop from inside its own loop would wait for itself.
        raise KeyboardInterrupt

    earlier = signal.signal(signal.SIGTERM, end)
    started: list[Server] = []
    try:
        for one in (*beside, server):
            one.prepare()
            started.append(one)
        for one in beside:
            threading.Thread(target=one.serve, daemon=True).start()
        host, bound = server.bind_addr[:2]
        on_ready(str(host), int(bound))
        server.serve()
    except KeyboardInterrupt:
        pass
    finally:
        for one in started:
            one.stop()
        signal.signal(signal.SIGTERM, earlier)
