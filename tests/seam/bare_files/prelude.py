"""Makes a board of the unix interpreter: hardware that tells what is done to it, a flash, its two files.

Runs in MicroPython with `-i`, on a terminal that is the board's serial port. Time is real. What happens goes
to a pipe, a line each; levels of input pins are letters of a file; settings.json says the rest.
"""

import gc
import io
import json
import sys
import termios

import micropython as _micropython

with open("settings.json") as _file:
    SETTINGS = json.load(_file)
_events = open("/dev/fd/%d" % SETTINGS["events"], "wb")
_inputs = open(SETTINGS["inputs"], "rb")
_shim = SETTINGS["shim"]
_tick = [0]


def tell(*words):
    """One line to whoever watches."""
    _events.write((" ".join([str(word) for word in words]) + "\n").encode())


class Pin:
    IN, OUT, PULL_UP, PULL_DOWN = 0, 1, 1, 2
    levels = {}

    def __init__(self, number, mode=-1, pull=-1, value=None):
        self.number = number
        if mode == Pin.OUT:
            self.value(Pin.levels.get(number, 0) if value is None else value)

    def value(self, level=None):
        """The level, or set it."""
        if level is not None:
            if Pin.levels.get(self.number) != int(level):
                Pin.levels[self.number] = int(level)
                tell("pin", self.number, int(level))
            return None
        if self.number in Pin.levels:
            return Pin.levels[self.number]
        _inputs.seek(self.number)
        return int(_inputs.read(1))


class SPI:
    def __init__(self, *arguments, **settings):
        pass

    def readinto(self, buf, write=0):
        """A converter at 25 C whose last bit moves, where one is selected; else the pulled-up line."""
        asked = [pin for pin in SETTINGS["selects"] if not Pin.levels.get(pin, 1)]
        _tick[0] += 1
        quarter = 100 + _tick[0] % 3 // 2
        frame = (quarter << 18 | 25 << 8).to_bytes(4, "big") if len(asked) == 1 else b"\xff" * 4
        buf[:] = frame[: len(buf)]


class WDT:
    def __init__(self, id=0, timeout=5000):
        tell("watchdog", timeout)

    def feed(self):
        """Put the bite off."""
        tell("fed")


class Machine:
    Pin, SPI, WDT = Pin, SPI, WDT
    PWRON_RESET, WDT_RESET = 1, 3

    def unique_id(self):
        """Unlike that of any simulated rig."""
        return b"\xe6\x61bare\x00\x01"

    def reset_cause(self):
        """Why it started."""
        return SETTINGS["cause"]

    def reset(self):
        """Nothing of this life runs any more."""
        tell("reset")
        while True:
            sys.stdin.buffer.read(1)


class Micropython:
    def kbd_intr(self, byte):
        """Whether the terminal makes an interrupt of 0x03."""
        found = termios.tcgetattr(0)
        found[3] = found[3] & ~1 if byte == -1 else found[3] | 1
        termios.tcsetattr(0, 0, found)

    def __getattr__(self, name):
        return getattr(_micropython, name)


class Implementation:
    name = SETTINGS["name"]
    version = tuple(SETTINGS["version"]) + ("",)
    _machine = SETTINGS["machine"]
    _mpy = SETTINGS["mpy"]


class Sys:
    implementation = Implementation()
    platform = "rp2"
    path = sys.path
    modules = sys.modules
    stdin, stdout, stderr = sys.stdin, sys.stdout, sys.stderr

    def __getattr__(self, name):
        return getattr(_real_sys, name)


def run(name):
    """Run a file as a board does: without one, or with an error in it, the prompt follows."""
    try:
        with open(name) as file:
            text = file.read()
    except OSError:
        return True
    try:
        exec(compile(text, name, "exec"), {"__name__": "__main__"})
    except BaseException as error:  # noqa: BLE001 - whatever ends it, the prompt follows
        story = io.StringIO()
        _real_sys.print_exception(error, story)
        sys.stdout.write(story.getvalue())
        tell("ended", name, type(error).__name__)
        return False
    return True


def start():
    """Everything from power-on to the prompt."""
    sys.path.insert(0, _shim)
    import board_flash

    board_flash.State.free = True
    board_flash.mount(SETTINGS["image"])
    sys.path[:] = ["", ".frozen", "/lib"]
    sys.modules["machine"] = Machine()
    sys.modules["micropython"] = Micropython()
    sys.modules["sys"] = Sys()
    sys.modules["micropython"].kbd_intr(3)
    gc.collect()
    tell("boot", gc.mem_free())
    fine = run("boot.py")
    if fine and not SETTINGS["raw"]:
        run("main.py")
    tell("prompt")


_real_sys = sys
start()
