"""The rig as the board knows it: zones and limits, checked. core.rig reads them."""

from .wood_figures import WoodFigures

SLAT_MM = 0.25
BLANKET_MM = 1.4
# More than wire and converter may err together (host prove/boiling: limit_k) is a fault, not an offset.
OFFSET_MOST_K = 4.5


class Zone:
    """One blanket with its relay and thermocouple.

    name: its word. power_w: rated power. current_a: rated current at the rig's voltage.
    ceiling_c: hardest limit of its reading. gains: mapping by gains.GAIN_NAMES. length_mm, width_mm: the
    blanket. response_k_per_s: rise shortly after a pulse per second of full power, as this rig has shown;
    None for what its parts let expect. mechanical: its relay wears out by operations. watched: it has none.
    shortest_ms: shortest relay window with which it lasts the stated hours, 0 where none are stated.
    offset_k: its thermocouple and converter together show so much too much. wood: what its estimate goes by.
    """

    def __init__(
        self, name: str, power_w: float, current_a: float, ceiling_c: float, gains: dict[str, float]
    ) -> None:
        self.name = name
        self.power_w = power_w
        self.current_a = current_a
        self.ceiling_c = ceiling_c
        self.gains = gains
        self.length_mm = 0.0
        self.width_mm = 0.0
        self.response_k_per_s: float | None = None
        self.mechanical = False
        self.watched = False
        self.shortest_ms = 0
        self.offset_k = 0.0
        self.wood = WoodFigures()


class Rig:
    """The checked rig.

    name, board, unit: as stated. zones: list of Zone. window_ms: relay window.
    branch_limit_a: largest sum of currents at one moment. half_cycle_ms: mains half-cycle, rounded up.
    slat_mm, blanket_mm: thickness of one slat and one blanket. feedback: the contactor is watched by a pin.
    watches: it has no relays, and heat comes from elsewhere.
    """

    def __init__(
        self,
        name: str,
        board: str,
        unit: str,
        zones: list[Zone],
        window_ms: int,
        branch_limit_a: float,
        half_cycle_ms: int,
    ) -> None:
        self.name = name
        self.board = board
        self.unit = unit
        self.zones = zones
        self.window_ms = window_ms
        self.branch_limit_a = branch_limit_a
        self.half_cycle_ms = half_cycle_ms
        self.slat_mm = SLAT_MM
        self.blanket_mm = BLANKET_MM
        self.feedback = False
        self.watches = False

    def zone_names(self) -> list[str]:
        """Names of the zones in their order."""
        return [zone.name for zone in self.zones]
