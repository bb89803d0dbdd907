"""Bytes to and from a board: a serial port, a socket, or memory. The only file that knows pyserial."""

import errno
from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

import serial
from serial.tools import list_ports

from .errors import LinkLostError, NoBoardError, PortBusyError

BAUD = 115200
READ_S = 0.05
WRITE_S = 2.0
READ_BYTES = 4096

# USB vendor numbers of the boards and of the bridge chips they are sold with. Other serial devices on
# the bench are never written to unless their port is named.
BOARD_VENDORS = {
    0x2E8A: "Raspberry Pi",
    0x303A: "Espressif",
    0x10C4: "Silicon Labs bridge",
    0x1A86: "WCH bridge",
    0x0403: "FTDI bridge",
}


class Transport(Protocol):
    """A stream of bytes to one board."""

    name: str

    def read(self) -> bytes:
        """The next bytes, or none when nothing came within about READ_S seconds. Raises LinkLostError."""
        ...

    def write(self, data: bytes) -> None:
        """Send bytes. Raises LinkLostError.

        data: the bytes, sent as they are.
        """
        ...

    def close(self) -> None:
        """Give the port back; harmless when repeated."""
        ...


class SerialTransport:
    """A port opened with DTR and RTS low, because on some boards those lines are reset and boot mode.

    name: the port as people call it. port: an open pyserial port.
    """

    def __init__(self, name: str, port: serial.Serial) -> None:
        self.name = name
        self._port = port
        self._is_socket = name.startswith("socket://")

    def read(self) -> bytes:
        """The next bytes; see Transport. Raises LinkLostError."""
        try:
            data = bytes(self._port.read(1))
            if data:
                data += self._waiting()
        except (serial.SerialException, OSError, TypeError) as error:
            # pyserial raises TypeError when the port is taken away in the middle of a read.
            raise self._lost(error) from None
        return data

    def _waiting(self) -> bytes:
        """What has arrived already, without waiting for more."""
        if not self._is_socket:
            return bytes(self._port.read(min(READ_BYTES, self._port.in_waiting)))
        # A socket tells only whether there is anything, so take what comes without waiting. An end of the
        # stream met here shows again at the next read.
        self._port.timeout = 0
        try:
            return bytes(self._port.read(READ_BYTES))
        finally:
            self._port.timeout = READ_S

    def write(self, data: bytes) -> None:
        """Send bytes; see Transport. Raises LinkLostError.

        data: as Transport.
        """
        try:
            self._port.write(data)
        except (serial.SerialException, OSError, TypeError) as error:
            raise self._lost(error) from None

    def close(self) -> None:
        """Give the port back."""
        # pyserial leaves its socket open when the other end has gone first.
        sock = getattr(self._port, "_socket", None)
        try:
            self._port.close()
        except OSError:
            # A port that vanished cannot be closed any more; there is nothing left to give back.
            return
        finally:
            if sock is not None:
                sock.close()

    def _lost(self, error: Exception) -> LinkLostError:
        reason = str(error).strip() or type(error).__name__
        return LinkLostError(
            f"the link to {self.name} was lost ({reason[:80]})",
            "the rig goes on by itself; look at it, then connect again with: ribwright watch",
            where={"port": self.name},
        )


def open_port(name: str) -> SerialTransport:
    """Open a port or a socket URL.

    name: /dev/..., COM3 or socket://host:port. Raises NoBoardError when there is no such port, PortBusyError
    when another program holds it or this user may not open it.
    """
    try:
        # The lines are set before opening: afterwards would be one reset too late.
        port = serial.serial_for_url(
            name, do_not_open=True, timeout=READ_S, write_timeout=WRITE_S, baudrate=BAUD
        )
        port.dtr = False
        port.rts = False
        if not name.startswith("socket://"):
            port.exclusive = True
        port.open()
    except (serial.SerialException, OSError, ValueError) as error:
        raise _open_error(name, error) from None
    return SerialTransport(name, port)


def _open_error(name: str, error: Exception) -> NoBoardError | PortBusyError:
    """Own words for a port that does not open."""
    number = getattr(error, "errno", None)
    reason = str(error)
    where = {"port": name}
    if "exclusively lock" in reason or number in (errno.EBUSY, errno.EAGAIN):
        seen, hint = (
            f"{name} is in use by another program",
            "close it (perhaps another ribwright watch), then try again",
        )
        return PortBusyError(seen, hint, where=where)
    if number == errno.EACCES or "PermissionError" in reason or "Permission denied" in reason:
        # Windows reports a port in use as a permission that is denied; there is no way to tell them apart.
        return PortBusyError(
            f"{name} may not be opened",
            "close the program that uses it, or join the group that owns the port, then try again",
            where=where,
        )
    if name.startswith("socket://"):
        return NoBoardError(
            f"nothing listens at {name}", "check the address, written as socket://127.0.0.1:PORT", where=where
        )
    return NoBoardError(
        f"there is no port {name}",
        "plug the board in and leave --port out, so that it is looked for",
        where=where,
    )


def board_ports() -> list[str]:
    """Ports that a board may sit on, by the vendor number of their USB side."""
    return sorted(str(port.device) for port in list_ports.comports() if port.vid in BOARD_VENDORS)


@dataclass
class MemoryTransport:
    """A board in memory, for tests: every write is answered at once by a function.

    answer: takes the bytes written, returns the bytes that come back. name: shown in errors. cut: the link is
    gone, and reading and writing raise LinkLostError.
    """

    answer: Callable[[bytes], bytes]
    name: str = "memory"
    cut: bool = False

    def __post_init__(self) -> None:
        self._waiting = bytearray()

    def push(self, data: bytes) -> None:
        """Bytes that come from the board unasked.

        data: the bytes.
        """
        self._waiting += data

    def read(self) -> bytes:
        """All that waits. Raises LinkLostError once it is cut."""
        if self.cut:
            raise LinkLostError(
                f"the link to {self.name} was lost", "connect again", where={"port": self.name}
            )
        data = bytes(self._waiting)
        self._waiting.clear()
        return data

    def write(self, data: bytes) -> None:
        """Hand bytes to the board. Raises LinkLostError once it is cut.

        data: as Transport.
        """
        if self.cut:
            raise LinkLostError(
                f"the link to {self.name} was lost", "connect again", where={"port": self.name}
            )
        self._waiting += self.answer(data)

    def close(self) -> None:
        """End the link."""
        self.cut = True
