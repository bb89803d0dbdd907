"""What a zone's estimate of the wood goes by: nominal figures, or those of a calibration."""

from .units import k_from
from .wood import MOISTURE_BY_WETTED

TYPE_CHECKING = False
if TYPE_CHECKING:
    from .checks import Table
    from .shapes import Values

# What the estimate of the wood's middle goes by, and how far off it may be. Fitted to
# runs of 36 drawn rigs on the simulator: the ukulele's side, rosewood, soaked mahogany. In
# runs of 40 others, walnut among them, 94 % of all seconds lay within the nominal band. In a side like
# the scrap 98 % of all readings lay within the calibrated one, on 10 drawn rigs.
RESISTANCE_M2_K_W = 7.0e-3
LOSS_W_M2_K = 7.0
ESCAPE_S = 40.0
# The blanket's face leads the thermocouple by what this brings at the present slope.
LEAD_S = 5.0
BAND_K = 8.0
CALIBRATED_BAND_K = 3.5
# What a rig file may hold of the four, in their order: proposals. Thick dry scrap may bring the third there.
LIMITS = ((0.0005, 0.05), (0.5, 60.0), (5.0, 300.0), (0.0, 60.0))
# What was found in one scrap holds for wood like it. On 10 simulated rigs figures from scrap as thick and wet
# as the side halved the error in the side, from dry scrap twice as thick they made it half as large again.
# How much thickness may differ is a proposal.
LIKE_SHARE = 0.25


class WoodFigures:
    """What the estimate of the wood's middle goes by in one zone; the defaults are nominal.

    resistance_m2_k_w: from the thermocouple to the wood's face. loss_w_m2_k: of the face away from it.
    escape_s: time constant of bound water. lead_s: by how much the blanket is ahead of the thermocouple.
    band_k: how far off the estimate may be. thickness_mm, wetted: of the wood they were found in; 0 and ""
    where that is not stated.
    """

    def __init__(self) -> None:
        self.resistance_m2_k_w = RESISTANCE_M2_K_W
        self.loss_w_m2_k = LOSS_W_M2_K
        self.escape_s = ESCAPE_S
        self.lead_s = LEAD_S
        self.band_k = BAND_K
        self.thickness_mm = 0.0
        self.wetted = ""

    def of_piece(self, piece: "Values") -> "WoodFigures":
        """These figures for wood like that they were found in, the nominal ones for other wood.

        piece: checked values of a profile's [piece].
        """
        thick_mm = piece["thickness_mm"] * piece.get("plies", 1)
        known_mm = self.thickness_mm
        if known_mm and abs(thick_mm - known_mm) > LIKE_SHARE * known_mm:
            return WoodFigures()
        return WoodFigures() if self.wetted and piece["wetted"] != self.wetted else self


def read_wood(table: "Table", wood: WoodFigures) -> None:
    """A calibration of the estimate: one run with a second thermocouple in the wood gives them all.

    What a computer has written says for which rig and from which run; what a maker typed need not.

    table: a zone's [zones.wood], which notes what is wrong with it. wood: of that zone, gets the figures.
    """
    resistance, loss, escape, lead = LIMITS
    wood.resistance_m2_k_w = table.number("resistance", *resistance, "m2 K/W") or RESISTANCE_M2_K_W
    wood.loss_w_m2_k = table.number("loss", *loss, "W/(m2 K)") or LOSS_W_M2_K
    wood.escape_s = table.number("escape_s", *escape, "s") or ESCAPE_S
    wood.thickness_mm = table.number("thickness_mm", 0.4, 36, "mm", False) or 0.0
    wood.wetted = table.choice("wetted", tuple(sorted(MOISTURE_BY_WETTED)), False) or ""
    table.text("for_rig", False, 16)
    table.text("fitted_by", False, 80)
    lead_s = table.number("lead_s", *lead, "s", False)
    wood.lead_s = LEAD_S if lead_s is None else lead_s
    band = table.difference("band", 1.0, 20.0)
    wood.band_k = CALIBRATED_BAND_K if band is None else k_from(band, table.unit)
    table.finish()
