"""Virtual clock of the board and its lock-step link to the simulation; runs inside the board's interpreter.

Time stands still but for sleeps, and charges from the cost table for work that takes time on a board. One
exchange of binary frames per sleep hands the elapsed time, the pin edges with their moments and the bytes
written to the serial link to the simulation, and takes sensor frames, button levels and received bytes back.
Layouts are given again, with the same numbers, in ribwright_sim/lockstep.py; tests/seam compares the two.
"""

import struct
import sys
from array import array

MAGIC = 0xF5  # never part of UTF-8 text, so a stray traceback on stdout cannot look like a frame
SLEEP, MIDWAY, HELLO, RESET, ENDED = b"SMHXE"
WIRES = 87  # "W": what was written to the display's bus
HEAD = "<BBHIIHHH"  # magic, kind, payload bytes, elapsed us, busy us, bytes waiting, edges, link bytes
HEAD_SIZE = 18
EDGE = "<IBB"  # us since the last exchange, pin, level
EDGE_SIZE = 6
REPLY = "<BBHQQHH"  # magic, kind, link bytes, board time us, input levels, link room, bytes of an order
REPLY_SIZE = 24
NEVER = 0xFFFFFFFF
OPERATIONS = (
    "boot",
    "tick_code",
    "wake_code",
    "spi_read_4_bytes",
    "gc_collect",
    "flash_program_page",
    "flash_erase_sector",
    "stalled_write",
    "link_read_byte",
    "clock_read",
    "link_write_64_bytes",
    "i2c_byte",
    "display_piece",
)
(BOOT, TICK_CODE, WAKE_CODE, SPI_READ, COLLECT, PROGRAM, ERASE, STALL, LINK_READ) = range(9)
CLOCK_READ, LINK_WRITE, I2C_BYTE, DISPLAY_PIECE = 9, 10, 11, 12
WRITE_UNIT = 64
COUNTS_SIZE = 4 * len(OPERATIONS)
MAX_EDGES = 40
LINK_RING = 512  # bytes a Pico holds for a program that does not read (micropython-on-host.md section 1)
TX_LIMIT = 2048
MIDWAY_US = 50000  # a longer stretch without a sleep is handed over in parts, to keep time and pins current
DRAINING = 0xFFFF  # link room: the computer reads, or none is connected


class Stopped(BaseException):
    """The simulation has gone; nothing more may be done, and no handler of the firmware should catch this."""


class Board:
    """All state of the virtual board, as class attributes: one board per process."""

    now_us = 0
    mark_us = 0  # moment of the last exchange
    wake_us = 0
    deadline_us = None  # watchdog
    costs = (0,) * len(OPERATIONS)
    counts = array("I", [0] * len(OPERATIONS))
    alive_pin = -1
    selects = ()
    levels = bytearray(64)
    inputs = (1 << 48) - 1
    frames = bytearray(0)
    sizes = ()
    selected = None  # told of the edges of select lines, where a chip is more than a frame: board_chips
    transfer = None  # what such chips do with bytes
    work = 0  # 0 nothing yet in this waking, 1 a sensor was read, 2 its tick is charged
    edges = 0
    tx_len = 0
    room = DRAINING
    rx_at = rx_len = 0
    interrupt_byte = 3  # as a board starts; the firmware gives it up with micropython.kbd_intr(-1)
    dead = False
    order = ""  # Python to execute at the next waking: a fault that strikes the program itself
    obey = None  # what executes it
    loop = None  # the firmware's loop, once it is made
    naps = 0  # short sleeps that need no exchange: nobody talks and nothing heats
    napped = False
    display = "absent"  # at its bus: "answers", "absent", or "holds" the bus down
    listeners = []  # handlers of edges, with their pins


_out = bytearray(HEAD_SIZE + COUNTS_SIZE + MAX_EDGES * EDGE_SIZE + TX_LIMIT)
_EDGES_AT = HEAD_SIZE + COUNTS_SIZE
_tx = bytearray(TX_LIMIT)
_rx = bytearray(LINK_RING)
# A reply and, right behind it, what the chips show: taken in one piece.
_reply = bytearray(REPLY_SIZE)
if sys.implementation.name == "micropython":
    _read_into = sys.stdin.buffer.readinto
    _write = sys.stdout.buffer.write
else:
    # Unbuffered, and taken before sys.stdout is replaced.
    _read_into = open(0, "rb", buffering=0, closefd=False).readinto
    _write = open(1, "wb", buffering=0, closefd=False).write


def configure(costs, alive_pin, selects, start_us, sizes):
    """Set costs in us by OPERATIONS, alive_pin, start_us, and by chip: selects, its pin, and sizes, bytes."""
    global _reply
    Board.costs = costs
    Board.alive_pin = alive_pin
    Board.selects = selects
    # Last, what the line shows while no chip is selected.
    Board.sizes = sizes
    Board.frames = bytearray(sum(sizes) + 4)
    _reply = bytearray(REPLY_SIZE + len(Board.frames))
    Board.now_us = Board.mark_us = Board.wake_us = start_us


def _fill(buf, size):
    view, got = memoryview(buf), 0
    while got < size:
        n = _read_into(view[got:size])
        if not n:
            # No caller may reach the flash or another exchange after this.
            Board.dead = True
            raise Stopped
        got += n


def _send(kind, busy_us, text_len):
    size = COUNTS_SIZE + Board.edges * EDGE_SIZE + text_len
    gone_us = Board.now_us - Board.mark_us
    struct.pack_into(HEAD, _out, 0, MAGIC, kind, size, gone_us, busy_us, Board.rx_len, Board.edges, text_len)
    _out[HEAD_SIZE:_EDGES_AT] = bytes(Board.counts)
    if text_len:
        at = _EDGES_AT + Board.edges * EDGE_SIZE
        _out[at : at + text_len] = memoryview(_tx)[:text_len]
    view = memoryview(_out)
    size += HEAD_SIZE
    sent = _write(view[:size])
    while sent < size:
        sent += _write(view[sent:size])


def exchange(kind, busy_us=0):
    """Hand over all since the last exchange, and why: kind, SLEEP, MIDWAY, HELLO or WIRES; take the answer.

    Raises Stopped when the pipe is closed, KeyboardInterrupt for an interrupt byte that is not given up.
    """
    _send(kind, busy_us, Board.tx_len)
    Board.edges = Board.tx_len = 0
    _fill(_reply, len(_reply))
    magic, Board.naps, count, now_us, Board.inputs, Board.room, order = struct.unpack_from(REPLY, _reply)
    if magic != MAGIC:
        Board.dead = True
        raise Stopped
    Board.now_us = Board.mark_us = now_us
    Board.napped = False
    frames, levels, at, place = Board.frames, Board.levels, 0, REPLY_SIZE
    for i in range(len(Board.selects)):
        size = Board.sizes[i]
        # The chip refreshes its output register only while its select line is high.
        if levels[Board.selects[i]]:
            frames[at : at + size] = _reply[place : place + size]
        at += size
        place += size
    frames[at:] = _reply[place:]
    interrupted = False
    if count:
        at = Board.rx_len
        if Board.rx_at:
            _rx[:at] = _rx[Board.rx_at : Board.rx_at + at]
            Board.rx_at = 0
        _fill(memoryview(_rx)[at:], count)
        Board.rx_len = at + count
        stop = Board.interrupt_byte
        interrupted = stop >= 0 and _rx.find(bytes((stop,)), at, at + count) >= 0
    if order:
        code = bytearray(order)
        _fill(code, order)
        Board.order = bytes(code).decode()
    if interrupted:
        Board.rx_len = 0
        raise KeyboardInterrupt


def end(kind, text):
    """Report kind, RESET or ENDED, and text, why; then wait to be stopped: a reset runs no `finally`."""
    left = NEVER if Board.deadline_us is None else max(0, Board.deadline_us - Board.now_us)
    Board.tx_len = min(len(text), TX_LIMIT)
    _tx[: Board.tx_len] = text[: Board.tx_len]
    _send(kind, left, Board.tx_len)
    Board.dead = True
    while True:
        _fill(_reply, 1)


def spend(us):
    """Let so many us pass without an exchange; the watchdog still bites."""
    Board.now_us += us
    if Board.deadline_us is not None and Board.now_us >= Board.deadline_us:
        Board.now_us = max(Board.mark_us, Board.deadline_us)
        flush()
        end(RESET, b"watchdog")


def flush():
    """Hand link bytes over by themselves: an ending frame carries a text in their place."""
    if Board.tx_len:
        exchange(MIDWAY)


def charge(operation, times=1):
    """Let `times` the cost of an operation pass; operation: its place in OPERATIONS."""
    Board.counts[operation] += times
    spend(Board.costs[operation] * times)
    if Board.now_us - Board.mark_us > MIDWAY_US:
        exchange(MIDWAY)


def charge_quietly(operation, times=1):
    """As charge(operation, times), with no exchange: a file system may call while the heap is locked."""
    Board.counts[operation] += times
    spend(Board.costs[operation] * times)


def edge(pin, level):
    """Note a pin's output level; all but select lines are told to the simulation with their moment."""
    if Board.napped and not level and pin in Board.selects:
        exchange(MIDWAY)  # what the chip shows is of now
    if pin == Board.alive_pin and Board.work != 2:
        Board.work = 2
        charge(TICK_CODE)
    Board.levels[pin] = level
    if pin not in Board.selects:
        note(pin, level)
    elif Board.selected:
        Board.selected(pin, level)


def note(pin, level):
    """Keep pin and level of an edge, or what the chips' bus has in place of one, for the next exchange."""
    if Board.edges == MAX_EDGES:
        exchange(MIDWAY)
    struct.pack_into(
        EDGE, _out, _EDGES_AT + EDGE_SIZE * Board.edges, Board.now_us - Board.mark_us, pin, level
    )
    Board.edges += 1


def sleep_us(us):
    """Sleep so many us; the waking's own code is charged first, as a whole tick if it read sensors."""
    if Board.work != 2:
        charge(TICK_CODE if Board.work else WAKE_CODE)
    Board.work = 0
    busy_us = Board.now_us - Board.wake_us
    if us > 0:
        spend(us)
    exchange(SLEEP, busy_us)
    Board.wake_us = Board.now_us
    if Board.order:
        Board.obey()


def link_take(buf, count):
    """Move up to `count` received bytes into buf and return how many."""
    count = min(count, Board.rx_len)
    at = Board.rx_at
    if count == 1:
        buf[0] = _rx[at]
    else:
        buf[:count] = memoryview(_rx)[at : at + count]
    Board.rx_at = at + count
    Board.rx_len -= count
    if count:
        charge(LINK_READ, count)
    return count


def link_wait():
    """Block as a read on a board does, until something has arrived."""
    while not Board.rx_len:
        sleep_us(10000)


def link_put(data):
    """Write data to the link; a computer that holds the port open and reads nothing costs a stalled write."""
    count = len(data)
    charge_quietly(LINK_WRITE, (count + WRITE_UNIT - 1) // WRITE_UNIT)
    if count > Board.room:
        charge(STALL)
        count = min(count, Board.room)
    if Board.room != DRAINING:
        Board.room -= count
    at = 0
    while at < count:
        if Board.tx_len == TX_LIMIT:
            room = Board.room
            exchange(MIDWAY)
            Board.room = room
        n = min(count - at, TX_LIMIT - Board.tx_len)
        _tx[Board.tx_len : Board.tx_len + n] = memoryview(data)[at : at + n]
        Board.tx_len += n
        at += n
    return len(data)
