"""A bus with converters that answer as their data sheets say, as far as the drivers see it."""

# MAX31856 after power-on: data sheet 19-7534 rev 0, table 6.
DEFAULTS = bytes.fromhex("0003ff7fc07fff800000000000000000")


class Select:
    """A select pin; the chip behind it is told of its edges."""

    def __init__(self, chip):
        self.chip = chip
        self.level = 1
        self.lows = 0

    def value(self, level):
        if level != self.level:
            self.level = level
            self.lows += level == 0
            self.chip.at = -1


class Plain:
    """A chip that only sends: MAX31855 or MAX6675.

    word: its frame, bytes.
    """

    phase = 0

    def __init__(self, word):
        self.word = word
        self.at = -1

    def shift(self, _byte):
        self.at += 1
        return self.word[self.at] if self.at < len(self.word) else 0xFF


class Registers:
    """A MAX31856: the first byte is an address, then it counts up."""

    phase = 1

    def __init__(self):
        self.held = bytearray(DEFAULTS)
        self.at = -1
        self.address = 0
        self.writes = []

    def shift(self, byte):
        self.at += 1
        if self.at == 0:
            self.address = byte
            return 0xFF
        register = (self.address & 0x7F) + self.at - 1
        if self.address & 0x80:
            if register < 10:
                self.held[register] = byte
                self.writes.append((register, byte))
            return 0xFF
        return self.held[register] if register < 16 else 0xFF


class FakeSpi:
    """The bus: every chip whose select is low shifts; nobody answers with ones, as the pull-up has it."""

    def __init__(self, selects):
        self.selects = selects
        self.phase = 0
        self.inits = 0
        self.wrong_mode = 0

    def init(self, baudrate=0, polarity=0, phase=0):
        for select in self.selects:
            assert select.level == 1
        assert (baudrate, polarity) == (1000000, 0)
        self.inits += 1
        self.phase = phase

    def _shift(self, byte):
        found = 0xFF
        for select in self.selects:
            if select.level == 0:
                self.wrong_mode += select.chip.phase != self.phase
                found &= select.chip.shift(byte)
        return found

    def readinto(self, buf):
        for i in range(len(buf)):
            buf[i] = self._shift(0)

    def write(self, out):
        for i in range(len(out)):
            self._shift(out[i])

    def write_readinto(self, out, buf):
        for i in range(len(buf)):
            buf[i] = self._shift(out[i])


def bus_of(*chips):
    """The bus with these chips, and their selects."""
    selects = [Select(chip) for chip in chips]
    return FakeSpi(selects), selects
