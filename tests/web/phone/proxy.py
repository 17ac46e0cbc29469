"""A line between phone and farm that can be cut: before the farm hears, or before its answer is heard."""

from __future__ import annotations

import contextlib
import re
import socket
import threading

PIECE = 65_536


class Line:
    """Passes requests on to a server; `mode` says what happens to them.

    Modes: ``through``; ``cut`` (nothing gets through); ``reply_lost`` (what sends entries reaches the server, and the
    answer is thrown away).
    """

    def __init__(self, port: int) -> None:
        self.to, self.mode, self.lost, self.counted = port, "through", 0, 0
        self.socket = socket.create_server(("127.0.0.1", 0))
        self.port = self.socket.getsockname()[1]
        self.address = f"http://localhost:{self.port}"
        threading.Thread(target=self._accept, daemon=True).start()

    def close(self) -> None:
        self.socket.close()

    def _accept(self) -> None:
        with contextlib.suppress(OSError):
            while True:
                phone, _ = self.socket.accept()
                threading.Thread(target=self._pass, args=(phone,), daemon=True).start()

    def _pass(self, phone: socket.socket) -> None:
        """One request a connection, so that each can be cut on its own."""
        with contextlib.suppress(OSError), phone:
            phone.settimeout(20)
            request = self._request(phone)
            if not request or self.mode == "cut":
                return
            sends = request.startswith(b"POST /phone/api/")
            self.counted += sends
            with socket.create_connection(("127.0.0.1", self.to), timeout=20) as farm:
                farm.sendall(
                    re.sub(rb"(?i)\r\nconnection: [^\r]*", b"", request, count=1).replace(
                        b"\r\n", b"\r\nConnection: close\r\n", 1
                    )
                )
                answer = b"".join(iter(lambda: farm.recv(PIECE), b""))
            if sends and self.mode == "reply_lost":
                self.lost += 1
                return
            phone.sendall(answer)

    @staticmethod
    def _request(phone: socket.socket) -> bytes:
        got = b""
        while b"\r\n\r\n" not in got:
            piece = phone.recv(PIECE)
            if not piece:
                return b""
            got += piece
        head, _, body = got.partition(b"\r\n\r\n")
        length = re.search(rb"(?i)content-length: (\d+)", head)
        while length and len(body) < int(length[1]):
            body += phone.recv(PIECE)
        return head + b"\r\n\r\n" + body
