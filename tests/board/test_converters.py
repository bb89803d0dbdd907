"""Drivers of the converters on a bus they share: set-up, times, modes, lost settings, memory per reading."""

import gc

from board.chip_bus import Plain, Registers, bus_of
from board.samples import near
from ribwright_board.core.max31856 import set_up_of
from ribwright_board.drivers.converters import converters
from ribwright_board.drivers.max6675 import Max6675
from ribwright_board.drivers.max31855 import Bus, Max31855
from ribwright_board.drivers.max31856 import Max31856

# Words of the data sheets' bit maps: 25 C with the chip at 25 C; 100.75 C.
WORD_31855, WORD_6675 = bytes.fromhex("01901900"), bytes.fromhex("0c98")
TICK_MS = 100


def ready(chip):
    """What a MAX31856 holds once it has converted: 25 C in the box, 100.9375 C outside, no fault."""
    chip.held[10:16] = bytes.fromhex("1900064f0000")


def settled(chip, driver, now_ms=200):
    """Read until the first conversion counts; the moment of the first reading, ms."""
    while True:
        item = driver.read(now_ms)
        if item is not None:
            return now_ms
        ready(chip)
        now_ms += TICK_MS
        assert now_ms < 1000


def lone():
    """One MAX31856 in mode 1: chip, select, driver."""
    chip = Registers()
    spi, selects = bus_of(chip)
    spi.phase = 1
    return chip, selects[0], Max31856(spi, selects[0], set_up_of("T", 50))


def test_set_up_is_written_with_conversions_off_and_only_then_they_start():
    chip, select, driver = lone()
    assert driver.read(100) is None
    assert chip.writes == []
    assert driver.read(200) is None
    # CR0 off with open test and 50 Hz, CR1 type T, no masks, limits as after power-on; CR0 last of all.
    assert chip.writes[:3] == [(0, 0x11), (1, 0x07), (2, 0x00)]
    assert chip.writes[3:10] == [(3, 0x7F), (4, 0xC0), (5, 0x7F), (6, 0xFF), (7, 0x80), (8, 0x00), (9, 0x00)]
    assert chip.writes[10:] == [(0, 0x91)]
    assert (select.level, select.lows) == (1, 2)


def test_nothing_is_read_before_the_first_conversion_has_had_its_185_ms():
    chip, _, driver = lone()
    first_ms = settled(chip, driver)
    assert first_ms - 200 >= 185
    item = driver.read(first_ms + TICK_MS)
    assert (item.temperature_c, item.cold_c, item.at_ms) == (100.9375, 25.0, first_ms + TICK_MS)


def test_chip_that_lost_its_supply_is_named_and_told_again_and_missing_until_it_has_converted():
    chip, _, driver = lone()
    now_ms = settled(chip, driver)
    chip.held = bytearray(b"\x00\x03\xff\x7f\xc0\x7f\xff\x80" + bytes(8))
    now_ms += TICK_MS
    assert driver.read(now_ms).code == "setup_lost"
    lost_ms = now_ms
    assert chip.held[0] == 0x91
    ready(chip)
    while True:
        now_ms += TICK_MS
        item = driver.read(now_ms)
        if not hasattr(item, "code"):
            break
        assert item.code == "setup_lost"
    assert now_ms - lost_ms >= 185
    assert item.temperature_c == 100.9375


def test_fault_is_named_at_once_even_while_a_chip_is_fresh():
    chip, _, driver = lone()
    driver.read(200)
    ready(chip)
    chip.held[15] = 1
    assert driver.read(300).code == "open"


def test_chip_that_forgets_again_and_again_never_gives_a_reading():
    chip, _, driver = lone()
    now_ms = settled(chip, driver)
    for _ in range(30):
        now_ms += TICK_MS
        chip.held[0:3] = b"\x00\x03\xff"
        assert driver.read(now_ms).code == "setup_lost"


def test_wrong_register_is_a_bus_fault_and_written_again():
    chip, _, driver = lone()
    now_ms = settled(chip, driver)
    chip.held[1] = 0x03
    assert driver.read(now_ms + TICK_MS).code == "bus"
    assert chip.held[1] == 0x07


def test_max6675_is_left_alone_for_220_ms_and_its_answer_comes_again():
    chip = Plain(WORD_6675)
    spi, selects = bus_of(chip)
    driver = Max6675(spi, selects[0])
    assert driver.read(200) is None
    lows, items = [], []
    for tick in range(3, 13):
        items.append(driver.read(TICK_MS * tick))
        lows.append(selects[0].lows)
    # Read at 300, 600, 900 and 1200 ms.
    assert lows == [1, 1, 1, 2, 2, 2, 3, 3, 3, 4]
    assert [item.at_ms for item in items] == [300] * 3 + [600] * 3 + [900] * 3 + [1200]
    assert near(items[0].temperature_c, 100.75, 0.7)
    chip.word = b"\x0c\x9c"
    assert [getattr(driver.read(1200 + TICK_MS * n), "code", "") for n in (1, 2, 3, 4)] == [
        "",
        "",
        "open",
        "open",
    ]


def test_max31855_of_another_type_is_read_by_its_own_curve():
    # Type J part at 177 C, box at 25 C: its line shows 166.94 C (tests/board/test_curves.py), the word 167.0.
    chip = Plain(bytes.fromhex("0a701900"))
    spi, selects = bus_of(chip)
    drivers = converters(spi, selects, ("MAX31855",), ("J",), 60)
    assert isinstance(drivers[0], Max31855)
    assert near(drivers[0].read(300).temperature_c, 177.0, 0.2)


def test_rig_of_register_chips_alone_changes_the_mode_once():
    chips = (Registers(), Registers())
    spi, selects = bus_of(*chips)
    drivers = converters(spi, selects, ("MAX31856", "MAX31856"), ("K", "N"), 60)
    bus = Bus(spi)
    for tick in range(20):
        assert bus.quiet()
        for driver in drivers:
            driver.read(TICK_MS * tick)
    assert (spi.inits, spi.phase, spi.wrong_mode) == (1, 1, 0)
    assert [chip.held[1] for chip in chips] == [3, 4]


def test_mixed_chips_are_each_read_in_their_mode_and_it_changes_only_where_it_must():
    chips = (Plain(WORD_31855), Registers(), Plain(WORD_6675), Registers())
    names = ("MAX31855", "MAX31856", "MAX6675", "MAX31856")
    spi, selects = bus_of(*chips)
    drivers = converters(spi, selects, names, ("K", "K", "K", "J"), 50)
    bus = Bus(spi)
    for tick in range(12):
        ready(chips[1])
        ready(chips[3])
        assert bus.quiet()
        items = [driver.read(TICK_MS * tick) for driver in drivers]
        if tick == 4:
            before = spi.inits
    assert [item.temperature_c for item in items[1::2]] == [100.9375, 100.9375]
    assert near(items[0].temperature_c, 25.0, 0.05)
    assert near(items[2].temperature_c, 100.75, 0.7)
    assert spi.wrong_mode == 0
    # In a tick: zone 0 in mode 0, zone 1 in mode 1, zone 2 in mode 0 where it is due (twice here), zone 3.
    assert spi.inits - before == 2 * 7 + 2 * 2


def test_max6675_tells_of_the_box_what_its_neighbour_found_in_steps():
    chip = Plain(WORD_31855)
    spi, selects = bus_of(Plain(WORD_6675), chip)
    drivers = converters(spi, selects, ("MAX6675", "MAX31855"), ("K", "K"), 60)

    def told(now_ms, cold_c):
        chip.word = b"\x01\x90" + (int(cold_c * 16) << 4).to_bytes(2, "big")
        item = drivers[0].read(now_ms)
        drivers[1].read(now_ms)
        return item

    assert told(300, 25.0).cold_c == 20.0
    items = [told(600, 25.0), told(900, 26.9), told(1200, 23.1)]
    assert [item.cold_c for item in items] == [25.0, 25.0, 25.0]
    told(1500, 33.0)
    item = told(1800, 33.0)
    assert item.cold_c == 33.0
    # What it shows does not move with a neighbour's figure: equal words stay equal.
    assert item.temperature_c == items[0].temperature_c


def test_select_is_high_again_after_a_bus_that_fails():
    for make in (
        lambda spi, select: Max31856(spi, select, set_up_of("K", 60)),
        Max6675,
        Max31855,
    ):
        spi, selects = bus_of(Registers())

        def fail(*_):
            raise OSError

        spi.readinto = spi.write = spi.write_readinto = fail
        driver = make(spi, selects[0])
        failed = False
        try:
            driver.read(300)
        except OSError:
            failed = True
        assert failed
        assert selects[0].level == 1


def _grown(driver, first_ms, steps):
    """Bytes per reading that a driver leaves behind; None where the interpreter does not say."""
    if not hasattr(gc, "mem_alloc"):
        return None
    driver.read(first_ms)
    gc.collect()
    before = gc.mem_alloc()
    now_ms = first_ms
    for _ in range(steps):
        now_ms += 300
        driver.read(now_ms)
    return (gc.mem_alloc() - before) / steps


class Quick:
    """A select, and a bus that leaves nothing behind itself: bytes are copied from what was prepared."""

    def __init__(self, answer):
        self.answer = answer

    def value(self, level):
        pass

    def readinto(self, buf):
        answer = self.answer
        i = 0
        while i < len(buf):
            buf[i] = answer[i]
            i += 1

    def write(self, out):
        pass

    def write_readinto(self, out, buf):
        self.readinto(buf)


def test_reading_leaves_little_more_behind_than_itself():
    # On a 64-bit computer, which takes twice what a board does; most of it are the floats of the arithmetic.
    register_frame = b"\xff\x91\x03\x00\x7f\xc0\x7f\xff\x80\x00\x00\x19\x00\x06\x4f\x00\x00"
    for driver, bytes_most in (
        (Max31855(Quick(WORD_31855), Quick(b"")), 640),
        (Max31856(Quick(register_frame), Quick(b""), set_up_of("K", 50)), 200),
        (Max6675(Quick(WORD_6675), Quick(b"")), 640),
    ):
        grown = _grown(driver, 3000, 20)
        print("bytes per reading:", grown)
        assert grown is None or grown <= bytes_most
