"""Wood as the estimate of its middle needs it: density, moisture, conductivity, heat capacity.

"Wood Handbook" is USDA FPL-GTR-190 (2010), chapter 4. Moisture is in % of ovendry mass.
"""

TYPE_CHECKING = False
if TYPE_CHECKING:
    from .shapes import Values

KELVIN = 273.15
FIBRE_SATURATION_PERCENT = 30.0
# The conductivity equation is stated for less than this; wetter wood keeps the value it has there.
CONDUCTIVITY_LIMIT_PERCENT = 25.0
# 2 to 3 % per 10 C above 24 C (Wood Handbook p. 4-11); past about 100 C that is an extrapolation.
RISE_PER_K = 0.0025
WATER_J_KG_K = 4180.0
# Assumption, common practice, no source: moisture of thin wood in these states.
MOISTURE_BY_WETTED = {"dry": 8.0, "misted": 11.0, "wiped": 12.0, "soaked": 24.0}
# On each face, kg/m2: "added water" of the simulator's materials.csv, common practice, no source.
FACE_WATER_KG_M2 = {"dry": 0.0, "misted": 0.015, "wiped": 0.03, "soaked": 0.06}
MOISTURE_MOST_PERCENT = 60.0
# Ovendry mass over green volume. Chudnoff 1984, Alden FPL-GTR-83 1995 and the Wood Handbook; the simulator's
# species.csv names the source of each row and its range, and a test holds the two together.
BASIC_GRAVITY = {
    "sapele": 0.55,
    "black walnut": 0.51,
    "sugar maple": 0.56,
    "red maple": 0.49,
    "black cherry": 0.47,
    "honduras mahogany": 0.45,
    "african mahogany": 0.42,
    "east indian rosewood": 0.70,
    "koa": 0.53,
    "white ash": 0.55,
    "northern red oak": 0.56,
    "silver maple": 0.44,
    "bigleaf maple": 0.44,
    "bubinga": 0.71,
    "ovangkol": 0.66,
}
# Maker's figure of density, where the species is not known: from balsa to snakewood.
DENSITY_MIN_KG_M3 = 150.0
DENSITY_MAX_KG_M3 = 1400.0
DENSITY_AT_PERCENT = 12.0


def _shrinkage(moisture_percent: float) -> float:
    """Share of the volume lost from green, per unit of basic gravity; shrinkage stops at 30 %."""
    missing = (FIBRE_SATURATION_PERCENT - moisture_percent) / FIBRE_SATURATION_PERCENT
    return 0.265 * min(1.0, max(0.0, missing))


def gravity_at(basic_gravity: float, moisture_percent: float) -> float:
    """Ovendry mass over the volume at a moisture; Wood Handbook Eqs. 4-7, 4-10, 4-11 in closed form.

    basic_gravity: ovendry mass over green volume. moisture_percent: of the wood.
    """
    return basic_gravity / (1.0 - _shrinkage(moisture_percent) * basic_gravity)


def basic_gravity_of(density_kg_m3: float, moisture_percent: float = DENSITY_AT_PERCENT) -> float:
    """Ovendry mass over green volume, from a density; Wood Handbook Eq. 4-12 turned round.

    density_kg_m3: of wood with its water. moisture_percent: at which it was weighed and measured.
    """
    gravity = density_kg_m3 / (1000.0 + 10.0 * moisture_percent)
    return gravity / (1.0 + _shrinkage(moisture_percent) * gravity)


def density_of(basic_gravity: float, moisture_percent: float = DENSITY_AT_PERCENT) -> float:
    """Density with its water, kg/m3; Wood Handbook Eq. 4-12.

    basic_gravity: ovendry mass over green volume. moisture_percent: of the wood.
    """
    return gravity_at(basic_gravity, moisture_percent) * (1000.0 + 10.0 * moisture_percent)


def conductivity_w_m_k(gravity: float, moisture_percent: float, at_c: float) -> float:
    """Conductivity across the grain, W/(m K); Wood Handbook Eq. 4-15, spread up to 20 %.

    gravity: ovendry mass over the volume at this moisture, above 0.3. moisture_percent: below 25 %, held
    there above. at_c: temperature.
    """
    moisture = min(moisture_percent, CONDUCTIVITY_LIMIT_PERCENT)
    base = gravity * (0.1941 + 0.004064 * moisture) + 0.01864
    return base * (1.0 + RISE_PER_K * (at_c - 24.0))


def heat_j_kg_k(moisture_percent: float, at_c: float) -> float:
    """Heat capacity per kg of DRY wood and its water, J/(kg K); Wood Handbook Eqs. 4-16a, 4-17, 4-18.

    moisture_percent: past 30 % the rest is plain water. at_c: temperature, about 7 to 147 C.
    """
    bound = min(moisture_percent, FIBRE_SATURATION_PERCENT)
    kelvin = at_c + KELVIN
    sorbed = bound * (-61.91 + 0.236 * kelvin - 0.133 * bound) * (1.0 + 0.01 * bound)
    return 103.1 + 3.867 * kelvin + 0.01 * WATER_J_KG_K * moisture_percent + sorbed


def piece_density(piece: "Values") -> float | None:
    """Density of a piece at 12 % moisture, kg/m3: as stated, else by its species, None for one not known.

    piece: checked values of a profile's [piece].
    """
    stated = piece.get("density_kg_m3")
    if isinstance(stated, (int, float)):
        return stated + 0.0
    basic = BASIC_GRAVITY.get(str(piece.get("species", "")).strip().lower())
    return None if basic is None else density_of(basic)


def piece_moisture(piece: "Values", density_kg_m3: float) -> float:
    """Moisture of a piece, % of ovendry mass: as stated, else by how it was wetted; what lies on its faces on
    top of it, as if it were in the wood, for it takes as much heat to leave.

    piece: checked values of a profile's [piece]. density_kg_m3: at 12 % moisture.
    """
    stated = piece.get("moisture_percent")
    inside = stated + 0.0 if isinstance(stated, (int, float)) else MOISTURE_BY_WETTED[piece["wetted"]]
    thickness_m: float = 1e-3 * piece["thickness_mm"] * piece.get("plies", 1)
    dry_kg_m2 = 1000.0 * gravity_at(basic_gravity_of(density_kg_m3), inside) * thickness_m
    return min(MOISTURE_MOST_PERCENT, inside + 200.0 * FACE_WATER_KG_M2[piece["wetted"]] / dry_kg_m2)
