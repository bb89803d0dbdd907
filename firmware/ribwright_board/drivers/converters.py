"""Converters of a rig that has others than the MAX31855 for type K; loaded by no other rig."""

import sys

from ribwright_board.core.curves import curve_of

from .max31855 import SPI_HERTZ, Max31855

TYPE_CHECKING = False
if TYPE_CHECKING:
    from machine import SPI, Pin

    from ribwright_board.core.shapes import Select, Sensor


def converters(
    spi: "SPI", selects: "list[Pin]", chips: tuple[str, ...], types: tuple[str, ...], hertz: int
) -> "list[Sensor]":
    """One driver per zone.

    spi: bus, mode 0. selects, chips, types: per zone its select, converter and thermocouple. hertz: of the
    mains.
    """
    lines: list[Select] = list(selects)
    if "MAX31856" in chips:
        lines = _in_their_modes(spi, selects, chips)
    found = [_driver(spi, lines[i], chips[i], types[i], hertz) for i in range(len(chips))]
    if "MAX6675" in chips:
        _let_tell(found)
    _let_go()
    return found


def _in_their_modes(spi: "SPI", selects: "list[Pin]", chips: tuple[str, ...]) -> "list[Select]":
    """The bus in mode 1 for good, or selects that change its mode where others share it."""
    from .max31856 import InMode, Modes  # noqa: PLC0415 - a board loads its own converters only

    if [chip for chip in chips if chip != "MAX31856"]:
        modes = Modes(spi, SPI_HERTZ)
        return [InMode(selects[i], modes, int(chips[i] == "MAX31856")) for i in range(len(chips))]
    spi.init(baudrate=SPI_HERTZ, polarity=0, phase=1)
    return list(selects)


def _driver(spi: "SPI", select: "Select", chip: str, kind: str, hertz: int) -> "Sensor":
    if chip == "MAX31856":
        from ribwright_board.core.max31856 import set_up_of  # noqa: PLC0415 - as above

        from .max31856 import Max31856  # noqa: PLC0415 - as above

        return Max31856(spi, select, set_up_of(kind, hertz))
    if chip == "MAX6675":
        from .max6675 import Max6675  # noqa: PLC0415 - as above

        return Max6675(spi, select)
    return Max31855(spi, select, curve_of(kind))


def _let_tell(found: "list[Sensor]") -> None:
    """Have the first converter that knows its box tell those that do not."""
    from .max6675 import Max6675, Neighbour  # noqa: PLC0415 - as above

    others = [sensor for sensor in found if isinstance(sensor, Max6675)]
    for i in range(len(found)):
        if not isinstance(found[i], Max6675):
            found[i] = Neighbour(found[i], others)
            return


def _let_go() -> None:
    """What chose the drivers is needed once."""
    for package, name in (("ribwright_board.drivers", "converters"), ("ribwright_board.core", "curves")):
        sys.modules.pop(package + "." + name, None)
        if hasattr(sys.modules[package], name):
            delattr(sys.modules[package], name)
