"""Stand-ins for the board's modules: all the firmware asks for, by the same rules in both interpreters."""

import ast
import re

import pytest

from ribwright_sim import costs, lockstep
from ribwright_sim.interpreter import SHIM
from seam.rig_parts import Driven

MODULES = {
    "machine": "board_machine.py",
    "time": "board_time.py",
    "select": "board_select.py",
    "micropython": "board_micropython.py",
    "gc": "board_gc.py",
}
# What objects made from the modules' classes are asked for, by the name of the attribute.
METHODS = {
    "Pin": ("value", "on", "off", "init", "IN", "OUT", "PULL_UP"),
    "SPI": ("readinto", "read", "write", "write_readinto", "init"),
    "WDT": ("feed",),
    "poll": ("register", "unregister", "poll", "ipoll"),
}


def offered(name):
    """Names a stand-in has, and those of its classes as Class.name."""
    found = set()
    for node in ast.walk(ast.parse((SHIM / MODULES[name]).read_text())):
        if isinstance(node, ast.ClassDef):
            inner = {item.name for item in node.body if isinstance(item, ast.FunctionDef)}
            inner |= {t.id for item in node.body if isinstance(item, ast.Assign) for t in item.targets}
            found |= {node.name} | {f"{node.name}.{each}" for each in inner}
        elif isinstance(node, ast.FunctionDef):
            found.add(node.name)
        elif isinstance(node, ast.Assign):
            found |= {t.id for t in node.targets if isinstance(t, ast.Name)}
        elif isinstance(node, ast.ImportFrom):
            found |= {alias.name for alias in node.names}
    return found


def asked(root, name):
    """Attributes of a module that the firmware uses: machine.Pin.OUT gives Pin and Pin.OUT."""
    found = {}
    for path in sorted((root / "firmware" / "ribwright_board").rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text())):
            if not isinstance(node, ast.Attribute):
                continue
            if isinstance(node.value, ast.Name) and node.value.id == name:
                found[node.attr] = path.name
            inner = node.value
            if (
                isinstance(inner, ast.Attribute)
                and isinstance(inner.value, ast.Name)
                and inner.value.id == name
            ):
                found[f"{inner.attr}.{node.attr}"] = path.name
    return found


@pytest.mark.parametrize("name", sorted(MODULES))
def test_everything_the_firmware_asks_of_a_module_is_there(root, name):
    wanted = asked(root, name)
    missing = {each: place for each, place in wanted.items() if each not in offered(name)}
    assert missing == {}


def test_the_firmware_does_ask_for_hardware(root):
    assert {"Pin", "SPI", "WDT", "unique_id"} <= set(asked(root, "machine"))
    assert {"ticks_ms", "ticks_diff", "sleep_ms"} <= set(asked(root, "time"))


@pytest.mark.parametrize("kind", sorted(METHODS))
def test_the_classes_have_the_methods_drivers_call(kind):
    names = offered("machine") | offered("select")
    assert {f"{kind}.{method}" for method in METHODS[kind]} <= names


def test_both_ends_of_the_protocol_state_the_same_layout():
    text = (SHIM / "board_clock.py").read_text()

    def literal(name):
        return ast.literal_eval(re.search(rf"^{name} = ([^#\n]+)", text, re.MULTILINE).group(1).strip())

    def size(name):
        return int(literal(name))

    assert literal("MAGIC") == lockstep.MAGIC
    assert literal("HEAD") == lockstep.HEAD.format
    assert literal("EDGE") == lockstep.EDGE.format
    assert literal("REPLY") == lockstep.REPLY.format
    assert (size("HEAD_SIZE"), size("EDGE_SIZE"), size("REPLY_SIZE")) == (
        lockstep.HEAD.size,
        lockstep.EDGE.size,
        lockstep.REPLY.size,
    )
    assert (size("LINK_RING"), size("DRAINING"), size("NEVER")) == (
        lockstep.LINK_RING,
        lockstep.DRAINING,
        lockstep.NEVER,
    )
    kinds = (lockstep.SLEEP, lockstep.MIDWAY, lockstep.HELLO, lockstep.RESET, lockstep.ENDED)
    assert tuple(re.search(r'ENDED = b"(\w+)"', text).group(1).encode()) == kinds
    operations = re.search(r"^OPERATIONS = \((.*?)\n\)", text, re.MULTILINE | re.DOTALL).group(1)
    assert tuple(re.findall(r'"(\w+)"', operations)) == costs.OPERATIONS


def transcript(folder, kind):
    """Everything the board does in a fixed script, as (kind, elapsed, busy, edges, bytes) of each frame."""
    with Driven(folder, kind) as board:
        for line in (b"hi", b"w", b"t", b"heat", b"gc", b"cold", b"\xff\x03", b"dog", b"mute", b"t"):
            board.ask(line.replace(b"\xff", b"~"))
        board.inputs &= ~(1 << 10)
        board.step()
        board.step()
        board.step(b"spin\n")
        while (frame := board.frame()).kind != lockstep.RESET:
            board.board.reply(frame.elapsed_us, board.words, board.inputs)
        return [(f.kind, f.elapsed_us, f.busy_us, f.edges, f.data, f.counts) for f in board.frames[1:]]


def test_both_interpreters_live_through_the_same_script_alike(tmp_path):
    ours = transcript(tmp_path / "a", "micropython")
    theirs = transcript(tmp_path / "b", "cpython")
    assert len(ours) > 40
    assert ours == theirs


ARITHMETIC = """
import time
half = 1 << 29
print(time.ticks_add((1 << 30) - 1, 1), time.ticks_diff(5, (1 << 30) - 5), time.ticks_diff(0, half))
print(time.ticks_diff(half - 1, 0), time.ticks_add(0, -1), time.ticks_diff((1 << 30) - 5, 5))
while True:
    time.sleep_ms(100)
"""


@pytest.mark.parametrize("kind", ["micropython", "cpython"])
def test_tick_arithmetic_is_that_of_a_30_bit_ring(tmp_path, kind):
    # Closed form: differences lie in -2**29 .. 2**29 - 1, sums are taken modulo 2**30.
    with Driven(tmp_path, kind, main=ARITHMETIC) as board:
        board.step()
        board.step()
        board.step()
        numbers = [int(word) for word in (board.text + bytes(board.board.noise)).split()]
    assert numbers == [0, 10, -(1 << 29), (1 << 29) - 1, (1 << 30) - 1, -10]


def test_firmware_is_loaded_as_its_main_loads_it(root):
    main = (root / "firmware/ribwright_board/root/main.py").read_text()
    often = re.search(r"^OFTEN = (\d+)$", main, re.MULTILINE).group(1)
    assert f"LOAD_IN_BYTES = {often}\n" in (SHIM / "prelude.py").read_text()
