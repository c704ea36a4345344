"""A wire between a site and its database server that can be cut and mended."""

from __future__ import annotations

import contextlib
import socket
import threading


class Wire:
    """Takes connections on a port of its own and hands them through, until it is cut."""

    def __init__(self, host: str, port: int) -> None:
        self.server = (host, port)
        self.taken = socket.create_server(("127.0.0.1", 0))
        self.port: int = self.taken.getsockname()[1]
        self.whole = threading.Event()
        self.open: list[socket.socket] = []
        self.lock = threading.Lock()
        threading.Thread(target=self._take, daemon=True).start()
        self.mend()

    def mend(self) -> None:
        self.whole.set()

    def cut(self) -> None:
        """All connections end at once, and new ones end as soon as they are made."""
        self.whole.clear()
        with self.lock:
            ends, self.open = self.open, []
        for end in ends:
            with contextlib.suppress(OSError):
                end.shutdown(socket.SHUT_RDWR)
            end.close()

    def close(self) -> None:
        self.cut()
        self.taken.close()

    def _take(self) -> None:
        while True:
            try:
                near, _ = self.taken.accept()
            except OSError:
                return
            if not self.whole.is_set():
                near.close()
                continue
            far = socket.create_connection(self.server)
            with self.lock:
                self.open += [near, far]
            for one, other in ((near, far), (far, near)):
                threading.Thread(target=_pass_on, args=(one, other), daemon=True).start()


def _pass_on(one: socket.socket, other: socket.socket) -> None:
    with contextlib.suppress(OSError):
        while piece := one.recv(65536):
            other.sendall(piece)
    for end in (one, other):
        with contextlib.suppress(OSError):
            end.shutdown(socket.SHUT_RDWR)
