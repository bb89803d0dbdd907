"""What heat should do to a zone's reading: an energy balance of the declared load, corrected by the proof.

Heat capacities and losses of the usual parts (handbook values from memory, rounded); the probe of every
start replaces what they get wrong by what this rig has just shown.
"""

TYPE_CHECKING = False
if TYPE_CHECKING:
    from .profile_values import Profile
    from .rig_values import Rig

SILICONE_J_M3_K = 1.56e6
STEEL_J_M3_K = 3.77e6
WOOD_J_M3_K = 1.4e6
# Still air and radiation on both faces together, at working heat.
LOSS_W_M2_K = 25.0
# Share of the wood that has warmed with the blanket a few seconds after a pulse.
PROBED_WOOD_SHARE = 0.2
# What water may take up on its way out, kg per square metre of strip by how it was wetted, and the heat to
# warm and boil off a kilogram. A spray in mid-run adds to it, so dry wood is granted some too.
WATER_KG_M2 = {"dry": 0.1, "misted": 0.2, "wiped": 0.3, "soaked": 0.6}
BOIL_OFF_J_KG = 2.6e6
# The proof may correct the balance this far. A slow junction answers a pulse weakly and warms like others.
WINDOW_SHARE = 0.75
FACTOR_LEAST = 0.75
FACTOR_MOST = 1.5
# Answers to the proof's pulse that are too small, over the expected one: of a zone, and of all together,
# which is the supply, not a slow thermocouple. A bare blanket gives more of it to the air.
WEAK_SHARE = 0.3
WEAK_BARE_SHARE = 0.25
ALL_WEAK_SHARE = 0.46
ALL_WEAK_BARE_SHARE = 0.35
# And too large. Of what this very rig has shown, only the mains may differ: 21 % more at 10 % high.
FAST_SHARE = 1.65
FAST_SHOWN_SHARE = 1.45
# What is loaded warms at less than this share of a bare blanket.
LOADED_SHARE = 0.6


class Expectation:
    """One zone's energy balance, all per kelvin of its own reading.

    rate_k_per_s: at full power, sustained, nothing lost. probe_k_per_s: shortly after a pulse, per second of
    full power. bare_k_per_s: of the blanket alone. loaded: more lies on it than next to nothing. water_k:
    what declared water may take up. factor: measured
    over expected response of the last proof. ambient_c: the room at that proof. window_k: overshoot of a
    relay window over one second. weak_share, all_weak_share: least answer of a zone, and of all, to the
    proof's pulse. fast_share: the largest, by whether the rig states its own answer.
    """

    def __init__(self, rig: "Rig", zone: int, profile: "Profile | None" = None) -> None:
        """rig: checked. zone: position. profile: declares the load; None counts as empty slats."""
        part = rig.zones[zone]
        self._areal_w_m2 = part.power_w / (part.length_mm * part.width_mm * 1e-6)
        blanket_j = SILICONE_J_M3_K * rig.blanket_mm * 1e-3
        slats_j = 2.0 * STEEL_J_M3_K * rig.slat_mm * 1e-3
        wood_j = 0.0
        water_kg_m2 = 0.0
        if profile is not None:
            piece = profile.piece
            cover = min(1.0, piece["width_mm"] * piece.get("pieces", 1) / part.width_mm)
            cover = cover * min(1.0, piece["length_mm"] / part.length_mm)
            wood_j = WOOD_J_M3_K * piece["thickness_mm"] * piece.get("plies", 1) * 1e-3 * cover
            water_kg_m2 = WATER_KG_M2[piece["wetted"]] * cover
        whole_j = blanket_j + slats_j + wood_j
        self.rate_k_per_s = self._areal_w_m2 / whole_j
        self.bare_k_per_s = self._areal_w_m2 / blanket_j
        self.probe_k_per_s = self._areal_w_m2 / (blanket_j + slats_j + PROBED_WOOD_SHARE * wood_j)
        self.loaded = self.rate_k_per_s < LOADED_SHARE * self.bare_k_per_s
        self.weak_share = WEAK_SHARE if self.loaded else WEAK_BARE_SHARE
        self.all_weak_share = ALL_WEAK_SHARE if self.loaded else ALL_WEAK_BARE_SHARE
        self.fast_share = FAST_SHARE
        if part.response_k_per_s is not None:
            self.fast_share = FAST_SHOWN_SHARE
            # The maker's own figure; a slow junction that answers a pulse weakly warms like others.
            self.rate_k_per_s *= max(1.0, part.response_k_per_s / self.probe_k_per_s)
            self.probe_k_per_s = part.response_k_per_s
        self.water_k = water_kg_m2 * BOIL_OFF_J_KG / whole_j
        # A long relay window overshoots by what it brings before it ends.
        self.window_k = self.rate_k_per_s * max(0, rig.window_ms - 1000) / 1000.0 * WINDOW_SHARE
        self.factor = 1.0
        self.ambient_c = 20.0

    def learn(self, ratio: float, ambient_c: float) -> None:
        """Take over what the proof has shown.

        ratio: measured over expected response. ambient_c: the room, C.
        """
        self.factor = min(max(ratio, FACTOR_LEAST), FACTOR_MOST)
        self.ambient_c = ambient_c

    def hold_share(self, temperature_c: float) -> float:
        """Share of full power that a temperature takes to hold, 0 or more.

        temperature_c: reading, C.
        """
        return max(0.0, LOSS_W_M2_K * (temperature_c - self.ambient_c) / self._areal_w_m2)

    def most_rise_k(self, share: float, dt_s: float) -> float:
        """Rise that heat may bring with only the nearest layers taking part and nothing lost, K.

        share: of full power. dt_s: how long.
        """
        # A junction that lags answers the short pulse late and then rises as steeply as any other.
        return share * self.probe_k_per_s * max(1.0, self.factor) * dt_s
