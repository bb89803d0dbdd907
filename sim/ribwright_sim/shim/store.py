"""Puts files on a flash image and reads them back, in a process of its own with a large heap.

The first line on stdin is JSON, the action and the image's path. Then frames: u32 count, then for each
u16 path length, path, u32 size, data; "put" keeps what is equal already. On stdout for "get": the same
layout. Runs in MicroPython only; the folder of CPython needs no tool.
"""

import json
import os
import struct
import sys

import board_clock
import board_flash

_read = sys.stdin.buffer.read
_write = sys.stdout.buffer.write
DIRECTORY = 0x4000


def _walk(folder):
    for entry in os.ilistdir(folder):
        path = folder + ("" if folder.endswith("/") else "/") + entry[0]
        if entry[1] == DIRECTORY:
            for deeper in _walk(path):
                yield deeper
        else:
            yield path


def _content(path):
    try:
        with open(path, "rb") as file:
            return file.read()
    except OSError:
        return None


def _put():
    wanted = set()
    for _ in range(struct.unpack("<I", _read(4))[0]):
        path = "/" + _read(struct.unpack("<H", _read(2))[0]).decode()
        data = _read(struct.unpack("<I", _read(4))[0])
        wanted.add(path)
        if _content(path) == data:
            continue
        parts = path.split("/")
        for n in range(2, len(parts)):
            try:
                os.mkdir("/".join(parts[:n]))
            except OSError:
                continue  # it is there already
        with open(path, "wb") as file:
            file.write(data)
    for path in list(_walk("/")):
        # Modules of an older version must not be found by the new one; profiles and runs are the maker's.
        if path.startswith("/lib/") and path not in wanted:
            os.remove(path)


def _get():
    paths = list(_walk("/"))
    _write(struct.pack("<I", len(paths)))
    for path in paths:
        name, data = path[1:].encode(), _content(path)
        _write(struct.pack("<H", len(name)) + name + struct.pack("<I", len(data)) + data)


_action, _image = json.loads(sys.stdin.buffer.readline())
board_flash.mount(_image)
if _action == "put":
    _put()
else:
    _get()
board_clock.Board.dead = True
