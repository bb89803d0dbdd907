# A tiny firmware: ticks at 10 Hz, reads both chips, heats one zone, answers lines on the link.
import gc
import select
import sys
import time

import machine
import micropython

micropython.kbd_intr(-1)
alive = machine.Pin(22, machine.Pin.OUT, value=0)
relay = machine.Pin(20, machine.Pin.OUT, value=0)
selects = [machine.Pin(n, machine.Pin.OUT, value=1) for n in (17, 18)]
start = machine.Pin(10, machine.Pin.IN, machine.Pin.PULL_UP)
spi = machine.SPI(
    0, baudrate=1000000, polarity=0, phase=0, sck=machine.Pin(2), mosi=machine.Pin(3), miso=machine.Pin(4)
)
frame = bytearray(4)
one = bytearray(1)
readable = select.poll()
readable.register(sys.stdin, select.POLLIN)
writable = select.poll()
writable.register(sys.stdout, select.POLLOUT)
state = {"line": b"", "dog": None, "level": 0, "alive": True}


def words():
    found = []
    for pin in selects:
        pin.value(0)
        spi.readinto(frame)
        pin.value(1)
        found.append("%08x" % int.from_bytes(frame, "big"))
    return " ".join(found)


def say(text):
    sys.stdout.buffer.write(text.encode() + b"\n")


def spent(action):
    before = time.ticks_us()
    action()
    say("%d" % time.ticks_diff(time.ticks_us(), before))


def append():
    with open("runs.txt", "ab") as file:
        file.write(b"0123456789")


def flood():
    before = time.ticks_ms()
    clear = len(writable.poll(0))
    for _ in range(3):
        sys.stdout.buffer.write(b"x" * 200)
    say("\n%d %d" % (clear, time.ticks_diff(time.ticks_ms(), before)))


def heat(level, word):
    relay.value(level)
    say(word)


def mute():
    state["alive"] = False
    say("mute")


def dog():
    state["dog"] = machine.WDT(timeout=2000)
    say("dog")


def spin():
    while True:
        time.ticks_ms()


def die():
    raise ValueError("told to die")


ANSWERS = {
    "w": lambda: say(words()),
    "t": lambda: say("%d %d" % (time.ticks_ms(), machine.reset_cause())),
    "heat": lambda: heat(1, "heating"),
    "cold": lambda: heat(0, "cooling"),
    "mute": mute,
    "dog": dog,
    "spin": spin,
    "die": die,
    "reset": machine.reset,
    "file": lambda: spent(append),
    "gc": lambda: spent(gc.collect),
    "print": lambda: print("printed"),
    "flood": flood,
}


def answer(line):
    word = line.decode()
    if word in ANSWERS:
        ANSWERS[word]()
    else:
        say("echo " + word)


def tick():
    words()
    while readable.poll(0):
        sys.stdin.buffer.readinto(one)
        if one == b"\n":
            line, state["line"] = state["line"], b""
            answer(line)
        else:
            state["line"] += bytes(one)
    if not start.value():
        say("pressed %d" % time.ticks_ms())
    if state["dog"]:
        state["dog"].feed()
    if state["alive"]:
        state["level"] = 1 - state["level"]
        alive.value(state["level"])


due = time.ticks_ms()
while True:
    tick()
    due = time.ticks_add(due, 100)
    time.sleep_ms(max(1, time.ticks_diff(due, time.ticks_ms())))
