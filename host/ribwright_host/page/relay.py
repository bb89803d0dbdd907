"""A cable between a computer and a virtual rig that can be cut and mended, and tells when what went through.

For measuring and testing the page; nothing of the page itself needs it.
"""

import contextlib
import socket
import threading
from collections.abc import Callable

BYTES = 4096


class Relay:
    """Carries bytes between one computer and a rig.

    port: of the rig, on this computer. passed: called with every piece that goes to the computer, before it
    does. url: what the computer opens.
    """

    def __init__(self, port: int, passed: Callable[[bytes], None] = lambda _data: None) -> None:
        self._rig_port = port
        self._passed = passed
        self._listener = socket.create_server(("127.0.0.1", 0))
        self._ended = threading.Event()
        self._whole = threading.Event()
        self._whole.set()
        self._open: list[socket.socket] = []
        self.url = f"socket://127.0.0.1:{self._listener.getsockname()[1]}"
        self._thread = threading.Thread(target=self._serve, daemon=True)
        self._thread.start()

    def cut(self) -> None:
        """Pull the plug."""
        self._whole.clear()
        for one in self._open:
            with contextlib.suppress(OSError):
                one.shutdown(socket.SHUT_RDWR)

    def mend(self) -> None:
        """Put it back."""
        self._whole.set()

    def close(self) -> None:
        """End it."""
        self._ended.set()
        self.cut()
        # Closing a listener does not wake accept() everywhere; a last visitor does.
        with contextlib.suppress(OSError):
            socket.create_connection(self._listener.getsockname(), 1).close()
        self._listener.close()
        self._thread.join(5)

    def _serve(self) -> None:
        while not self._ended.is_set():
            try:
                here, _ = self._listener.accept()
            except OSError:
                return
            with here:
                if self._whole.is_set():
                    self._join(here)

    def _join(self, here: socket.socket) -> None:
        """Carry both ways until one end is gone."""
        try:
            there = socket.create_connection(("127.0.0.1", self._rig_port), 5)
        except OSError:
            return
        with there:
            self._open = [here, there]
            back = threading.Thread(target=self._carry, args=(there, here, self._passed))
            back.start()
            self._carry(here, there, lambda _data: None)
            back.join()

    @staticmethod
    def _carry(source: socket.socket, sink: socket.socket, passed: Callable[[bytes], None]) -> None:
        with contextlib.suppress(OSError):
            while data := source.recv(BYTES):
                passed(data)
                sink.sendall(data)
        for one in (source, sink):
            with contextlib.suppress(OSError):
                one.shutdown(socket.SHUT_RDWR)
