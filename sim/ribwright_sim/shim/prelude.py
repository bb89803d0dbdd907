"""Starts the board: replaces what touches hardware, mounts the flash, then runs boot.py and main.py
unchanged.
"""

import gc
import json
import sys

import board_clock

# OFTEN of the firmware's main.py.
LOAD_IN_BYTES = 8192


def _install(settings):
    import board_gc
    import board_machine
    import board_micropython
    import board_orders
    import board_select
    import board_sys
    import board_time

    selects, sizes = tuple(settings["selects"]), (4,) * len(settings["selects"])
    if set(settings["chips"]) - {"MAX31855"}:
        import board_chips

        sizes = board_chips.install(settings["chips"], selects)
    board_clock.configure(tuple(settings["costs"]), settings["alive"], selects, settings["start_us"], sizes)
    board_clock.Board.obey = board_orders.obey
    board_gc.EVERY = settings["collect_every"]
    board_gc.LYING = settings["lying"]
    # Pins that nobody drives float high by their pull-ups; chips are unselected until the firmware selects
    # one.
    for pin in settings["selects"]:
        board_clock.Board.levels[pin] = 1
    board_machine.RESET_BY = board_machine.WDT_RESET if settings["cause"] else board_machine.PWRON_RESET
    for name, module in (
        ("machine", board_machine),
        ("time", board_time),
        ("select", board_select),
        ("gc", board_gc),
        ("micropython", board_micropython),
    ):
        sys.modules[name] = module
    if settings["panel"]:
        board_machine.fit_panel()
        board_clock.Board.display = settings["display"]
    if settings["panel"] and sys.implementation.name != "micropython":
        import board_framebuf

        sys.modules["framebuf"] = board_framebuf
    streams = board_sys.Sys()
    if sys.implementation.name == "micropython":
        sys.modules["sys"] = streams
    else:
        import traceback

        sys.stdin, sys.stdout = streams.stdin, streams.stdout
        sys.print_exception = lambda error, file=None: traceback.print_exception(error, file=file)


def _mount(path):
    import board_flash

    if sys.implementation.name == "micropython":
        board_flash.mount(path)
        sys.path[:] = ["", ".frozen", "/lib"]
    else:
        board_flash.use_folder(path)
        sys.path[:0] = [path, path + "/lib"]


def _reach_loop():
    """Keep hold of the firmware's loop, so that faults can strike its memory; the firmware sees nothing."""
    collected = sys.modules["gc"].threshold
    # As main.py loads it, which finds it loaded.
    collected(LOAD_IN_BYTES)
    try:
        from ribwright_board import app
    except ImportError:
        return  # another program than the firmware is on the flash
    finally:
        gc.collect()
        collected(-1)
    make = app.Loop

    def kept(board):
        board_clock.Board.loop = make(board)
        return board_clock.Board.loop

    app.Loop = kept


def _run(name):
    import builtins

    space = {"__name__": "__main__"}
    if hasattr(builtins, "execfile"):
        builtins.execfile(name, space)
    else:
        with open(name, "rb") as file:
            text = file.read()
        exec(compile(text, name, "exec"), space)


def _story(error):
    import io

    text = io.StringIO()
    sys.print_exception(error, text)
    # The end of a traceback tells most.
    return text.getvalue().encode()[-1500:]


def _start():
    settings = json.loads(sys.stdin.buffer.readline())
    _install(settings)
    version = sys.implementation
    name = "MicroPython" if version.name == "micropython" else "CPython"
    words = [name, ".".join(str(n) for n in version.version[:3])]
    if len(version.version) > 3 and name == "MicroPython" and version.version[3]:
        words[1] += "-" + version.version[3]
    gc.collect()
    free = sys.modules["gc"].mem_free()
    board_clock.link_put(("%s %s\n%d" % (words[0], words[1], free)).encode())
    board_clock.exchange(board_clock.HELLO)
    board_clock.charge_quietly(board_clock.BOOT)
    board_clock.exchange(board_clock.MIDWAY)
    board_clock.Board.wake_us = board_clock.Board.now_us
    _mount(settings["flash"])
    _run("boot.py")
    if settings["reach"]:
        _reach_loop()
    _run("main.py")


try:
    _start()
except board_clock.Stopped:
    sys.exit(0)
except BaseException as error:  # noqa: BLE001 - a board, too, ends with a traceback
    story = _story(error)
    board_clock.flush()
    board_clock.end(board_clock.ENDED, story)
else:
    board_clock.flush()
    board_clock.end(board_clock.ENDED, b"main.py came to its end")
