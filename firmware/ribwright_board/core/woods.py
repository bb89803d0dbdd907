"""The wood under every zone of one run, as it is estimated second by second.

It reads what zones show and what their relays did, and nothing reads it but the stages, the log and the
link. The guard and its judges have no path to it.
"""

from .midwood import WoodEstimate
from .wood import piece_density, piece_moisture

TYPE_CHECKING = False
if TYPE_CHECKING:
    from .profile_values import Profile
    from .rig_values import Rig, Zone
    from .senses import Senses

# A blanket so many times as long as the next is the long one, against the wood; the others lie on it.
LONG_RATIO = 1.5


def long_one(zones: "list[Zone]") -> int:
    """Position of the blanket that lies under the others; -1 when all lie side by side.

    zones: of a checked rig.
    """
    order = sorted(range(len(zones)), key=lambda zone: -zones[zone].length_mm)
    if len(zones) < 2 or zones[order[0]].length_mm < LONG_RATIO * zones[order[1]].length_mm:
        return -1
    return order[0]


class Woods:
    """Every zone's estimate.

    rig, profile: checked. Wood whose density is neither stated nor known by its species has none.

    mids_c: per zone the middle of the wood, C, or None; the same list all along. bands_k: how far off it may
    be.
    """

    def __init__(self, rig: "Rig", profile: "Profile") -> None:
        zones = rig.zones
        self.mids_c: list[float | None] = [None] * len(zones)
        known = [zone.wood.of_piece(profile.piece) for zone in zones]
        self.bands_k = [one.band_k for one in known]
        self.estimates: list[WoodEstimate] = []
        self._long = long_one(zones)
        self._long_w_m2 = 0.0
        if self._long >= 0:
            long = zones[self._long]
            self._long_w_m2 = long.power_w / (long.length_mm * long.width_mm * 1e-6)
        piece = profile.piece
        density_kg_m3 = piece_density(piece)
        if density_kg_m3 is None:
            return
        thickness_mm = piece["thickness_mm"] * piece.get("plies", 1)
        moisture_percent = piece_moisture(piece, density_kg_m3)
        for zone in range(len(zones)):
            self.estimates.append(
                WoodEstimate(
                    thickness_mm,
                    density_kg_m3,
                    moisture_percent,
                    20.0,
                    known[zone].resistance_m2_k_w,
                    known[zone].loss_w_m2_k,
                    known[zone].escape_s,
                    rig.slat_mm,
                    rig.blanket_mm if 0 <= self._long != zone else 0.0,
                    known[zone].lead_s,
                )
            )

    def meet_form(self, zones: list[int]) -> None:
        """The strip meets the form in these zones; positions."""
        if self.estimates:
            for zone in zones:
                self.estimates[zone].meet_form()

    def beside_c(self, zone: int, face_c: float) -> float | None:
        """Where a zone's thermocouple may stand while the wood's hottest face is at `face_c`, C; None without
        an estimate.

        zone: position.
        """
        return self.estimates[zone].beside_c(face_c) if self.estimates else None

    def second(
        self, means_c: list[float | None], senses: "Senses", shares: list[float], span_ms: int
    ) -> None:
        """Let one second pass, or as many as there were.

        means_c: per zone the mean of it, C, or None. senses: which zones are held off, and the converters'
        own temperature, which stands for the room. shares: per zone of full power. span_ms: how long it was.
        """
        for zone in range(len(self.estimates)):
            self.zone_second(zone, means_c, senses, shares, span_ms)

    def zone_second(
        self,
        zone: int,
        means_c: list[float | None],
        senses: "Senses",
        shares: list[float],
        span_ms: int,
    ) -> None:
        """Let one second pass for one zone, or as many as there were.

        zone: position. means_c, senses, shares, span_ms: as second().
        """
        if not self.estimates:
            return
        one = self.estimates[zone]
        one.ambient_c = senses.cold_c[zone]
        reading_c = None if senses.held[zone] else means_c[zone]
        long_w_m2 = self._long_w_m2 * shares[self._long] if self._long >= 0 else 0.0
        for _ in range(span_ms // 1000):
            one.second(reading_c, long_w_m2)
        self.mids_c[zone] = one.mid_c
