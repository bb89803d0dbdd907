"""`ribwright page`: the whole command, from the board that answers to the last page that is closed."""

import asyncio
import contextlib
import ipaddress
import socket
import sys
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager
from dataclasses import dataclass
from pathlib import Path

import uvicorn

from ribwright_host.errors import FileError, UsageError
from ribwright_host.identity import Board
from ribwright_host.link import Link
from ribwright_host.profiles import load_profile
from ribwright_host.rigs import load_rig

from .behind import Behind, last_from_file, read_rehearsal
from .cable import Cable
from .course import course_of
from .holder import noted
from .hub import Hub
from .keepers import Door
from .notes import Notebook, last_of
from .scene import Scene
from .web import application

PORT = 8130
# What may wait in the kernel for a slow browser: little, or it would be shown seconds late.
SEND_BUFFER = 32 * 1024
# A tablet that left the network is noticed after this, ms.
GONE_MS = 10_000
FIRST_S = 90.0
OPEN_TO_NETWORK = (
    "Open to everybody on this network who types the pairing code: they may look on, stop the run and write",
    "into the notebook; one at a time steers.",
    "It is NOT encrypted: who can listen in on this network sees what is sent, and could send a stop or a",
    "next too. Use a network of your own, and never forward a port to it.",
)
Say = Callable[[str], None]


@dataclass(frozen=True)
class Address:
    """Where the page listens. host: an address. port: 0 for any that is free."""

    host: str
    port: int

    @property
    def loopback(self) -> bool:
        """Whether only this very computer can reach it."""
        return ipaddress.ip_address(self.host).is_loopback

    @property
    def everywhere(self) -> bool:
        """Whether it is every address of this computer."""
        return ipaddress.ip_address(self.host).is_unspecified


def address_of(text: str) -> Address:
    """An address as written: an IP address, a colon and a port, or one of the two.

    text: of --listen. Raises UsageError.

    >>> address_of("0.0.0.0"), address_of(":9000").host, address_of("[::1]:9000").host
    (Address(host='0.0.0.0', port=8130), '127.0.0.1', '::1')
    """
    host, colon, port = text.strip().rpartition(":")
    if not colon or (":" in host and not host.startswith("[")):
        host, port = text.strip(), ""
    host = host.strip("[]") or "127.0.0.1"
    try:
        ipaddress.ip_address(host)
        number = int(port) if port else PORT
    except ValueError:
        number = -1
    if not 0 <= number <= 65535:
        raise UsageError(
            f"--listen {text!r} is no address",
            "write an address of this computer, such as 192.168.1.20 or 192.168.1.20:8130",
        )
    return Address(host, number)


def listener(address: Address) -> socket.socket:
    """A socket that listens there.

    address: where. Raises UsageError when it cannot.
    """
    family = socket.AF_INET6 if ":" in address.host else socket.AF_INET
    sock = socket.socket(family, socket.SOCK_STREAM)
    try:
        if family == socket.AF_INET6 and address.everywhere:
            # Systems differ in whether :: means the older addresses too; here it does.
            with contextlib.suppress(OSError):
                sock.setsockopt(socket.IPPROTO_IPV6, socket.IPV6_V6ONLY, 0)
        if sys.platform != "win32":
            # There it would let a second program listen at the same port.
            sock.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        sock.setsockopt(socket.SOL_SOCKET, socket.SO_SNDBUF, SEND_BUFFER)
        if hasattr(socket, "TCP_USER_TIMEOUT"):
            sock.setsockopt(socket.IPPROTO_TCP, socket.TCP_USER_TIMEOUT, GONE_MS)
        sock.bind((address.host, address.port))
        sock.listen(64)
    except OSError as error:
        sock.close()
        raise UsageError(
            f"nothing can listen at {address.host} port {address.port} ({error.strerror})",
            "close the other page, or name another with --listen",
        ) from error
    return sock


def addresses_here(address: Address) -> list[str]:
    """Addresses by which a browser reaches it.

    address: where it listens.
    """
    if not address.everywhere:
        return [address.host]
    older = _addresses(socket.AF_INET, "127.0.0.1", "192.0.2.1")
    if ":" not in address.host:
        return older
    newer = _addresses(socket.AF_INET6, "::1", "2001:db8::1")
    return [*older, *newer] if socket.has_dualstack_ipv6() else newer


def _addresses(family: socket.AddressFamily, own: str, far: str) -> list[str]:
    """Addresses of this computer of one kind, its loopback first.

    own: loopback. far: an address for documentation (RFC 5737, RFC 3849), to which nothing is sent: the
    system only says which of its own it would use. Link-local ones need a zone, which no browser takes.
    """
    found: set[str] = set()
    with contextlib.suppress(OSError):
        found |= {str(info[4][0]) for info in socket.getaddrinfo(socket.gethostname(), None, family)}
    with contextlib.suppress(OSError), socket.socket(family, socket.SOCK_DGRAM) as probe:
        probe.connect((far, 9))
        found.add(str(probe.getsockname()[0]))
    usable = {one for one in found if "%" not in one and not ipaddress.ip_address(one).is_link_local}
    return [own, *sorted(usable - {own})]


def open_words(address: Address, urls: list[str]) -> list[str]:
    """What is open to whom, for the terminal.

    address: where it listens. urls: by which it is reached.
    """
    lines = [f"The page: {url}" for url in urls]
    if address.loopback:
        lines.append("Open to this computer only, to everybody who uses it, without a code.")
    else:
        lines += OPEN_TO_NETWORK
    return [
        *lines,
        "No page can begin heat or clear a shutdown: those are presses AT THE RIG. Stay with a heated rig.",
        "Ctrl-C ends the page; the rig goes on by itself.",
    ]


@dataclass(frozen=True)
class Wanted:
    """What the command line says.

    listen: as --listen. profile: a profile file. rig, rehearsal, last: files. notebook: where remarks and
    photos go. unit: "C" or "F" to show. None for what was left out.
    """

    listen: str
    profile: Path | None = None
    rig: Path | None = None
    rehearsal: Path | None = None
    last: Path | None = None
    notebook: Notebook | None = None
    unit: str | None = None


def scene_of(wanted: Wanted) -> tuple[Scene, Behind]:
    """What is known before a board is asked: the scene, and what lies behind it.

    wanted: what the command line says. Raises FileError for a file with a mistake.
    """
    rig = load_rig(wanted.rig) if wanted.rig else None
    lengths = {str(zone["name"]): float(zone["length_mm"]) for zone in rig.mapping["zones"]} if rig else None
    scene = Scene(wanted.unit, lengths)
    if wanted.profile:
        course = course_of(load_profile(wanted.profile).mapping)
        if course is not None:
            scene.offer(course)
    behind = Behind(
        read_rehearsal(wanted.rehearsal) if wanted.rehearsal else None,
        last_from_file(wanted.last) if wanted.last else None,
    )
    return scene, behind


def serve(
    connect: Callable[[], AbstractContextManager[tuple[Link, Board]]], wanted: Wanted, say: Say
) -> None:
    """Serve the page until the keyboard ends it.

    connect: a fresh, greeted link. wanted: what was asked for. say: takes a line for the terminal.
    Raises HostError: a file is wrong, no board answers at first, the address cannot be used.
    """
    address = address_of(wanted.listen)
    scene, behind = scene_of(wanted)
    sock = listener(address)
    cable = Cable(connect)
    with contextlib.closing(sock), _running(cable) as board:
        say(board.title())
        if behind.last is None and wanted.notebook:
            try:
                known = scene.offered[-1].hash if scene.offered else ""
                behind.last = last_of(wanted.notebook, known, simulated=board.simulated)
            except FileError as error:
                say(f"The notebook gives no earlier run: {error.line()}")
        at = sock.getsockname()[1]
        hosts = [f"[{host}]" if ":" in host else host for host in addresses_here(address)]
        for line in open_words(address, [f"http://{host}:{at}/" for host in hosts]):
            say(line)
        door = Door(
            open_to_network=not address.loopback,
            show=lambda code: say(f"Pairing code: {code[:3]} {code[3:]}"),
        )
        hub = Hub(cable, scene, behind, door, wanted.notebook)
        with noted(board.port, address.host, at):
            asyncio.run(_serve(hub, sock, loopback=address.loopback))


@contextlib.contextmanager
def _running(cable: Cable) -> Iterator[Board]:
    cable.start()
    try:
        yield cable.first.result(FIRST_S)
    finally:
        cable.end()


def server_for(hub: Hub, *, loopback: bool) -> uvicorn.Server:
    """The server, without anything that tells more than it must.

    hub: the rig and its pages. loopback: only this very computer is served.
    """
    return uvicorn.Server(
        uvicorn.Config(
            application(hub, loopback=loopback),
            loop="asyncio",
            http="h11",
            ws="none",
            lifespan="off",
            interface="asgi3",
            log_config=None,
            access_log=False,
            proxy_headers=False,
            server_header=False,
            limit_concurrency=100,
            timeout_keep_alive=10,
            timeout_graceful_shutdown=2,
        )
    )


async def _serve(hub: Hub, sock: socket.socket, *, loopback: bool) -> None:
    server = server_for(hub, loopback=loopback)
    taking = asyncio.create_task(hub.run())
    ending = asyncio.create_task(_end_with(server, hub))
    try:
        await server.serve(sockets=[sock])
    finally:
        hub.end()
        ending.cancel()
        await asyncio.gather(taking, ending, return_exceptions=True)


async def _end_with(server: uvicorn.Server, hub: Hub) -> None:
    """Streams have no end of their own: they are let go as soon as the server is told to stop."""
    while not server.should_exit:  # noqa: ASYNC110 - the server has a flag and no event
        await asyncio.sleep(0.1)
    hub.end()
