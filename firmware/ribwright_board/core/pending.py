"""Records that wait for the flash, in one piece of memory that is taken at the start and kept.

Bytes that grow record by record ask the heap for a larger piece each time, and after a while there is none,
however much is free in small ones.
"""


class Pending:
    """Room for so many bytes.

    size: bytes. What no longer fits is left out, and its number is then missing in the log.
    """

    def __init__(self, size: int) -> None:
        self._room = bytearray(size)
        self._used = 0

    def keep(self, record: bytearray) -> None:
        """Add a record.

        record: its bytes, which are copied.
        """
        end = self._used + len(record)
        if end <= len(self._room):
            self._room[self._used : end] = record
            self._used = end

    def clear(self) -> None:
        """Forget what waits."""
        self._used = 0

    def take(self) -> memoryview:
        """All that waits, which then waits no longer; good until the next record is kept.

        >>> waiting = Pending(8)
        >>> waiting.keep(bytearray(b"one"))
        >>> waiting.keep(bytearray(b"three"))
        >>> waiting.keep(bytearray(b"!"))
        >>> bytes(waiting.take()), bytes(waiting.take())
        (b'onethree', b'')
        """
        used = self._used
        self._used = 0
        return memoryview(self._room)[:used]
