"""Laws of wood on the board against the handbook they come from."""

from board.samples import near, piece_mapping
from ribwright_board.core import wood


def test_conductivity_is_the_handbooks():
    # Wood Handbook GTR-190 Eq. 4-15 worked by hand: G 0.5, 12 %: 0.5 (0.1941 + 0.004064 x 12) + 0.01864.
    assert near(wood.conductivity_w_m_k(0.5, 12.0, 24.0), 0.1401, 5e-5)
    # Table 4-7 of the Handbook, 12 %: G 0.66 sugar maple 0.18 W/(m K), G 0.37 0.11 (from memory).
    assert near(wood.conductivity_w_m_k(0.66, 12.0, 24.0), 0.18, 0.005)
    assert near(wood.conductivity_w_m_k(0.37, 12.0, 24.0), 0.11, 0.006)
    # P. 4-11: 2 to 3 % more for every 10 C.
    warm = wood.conductivity_w_m_k(0.5, 12.0, 34.0) / wood.conductivity_w_m_k(0.5, 12.0, 24.0)
    assert 1.02 <= warm <= 1.03
    # Stated for less than 25 %, held there.
    assert wood.conductivity_w_m_k(0.5, 40.0, 24.0) == wood.conductivity_w_m_k(0.5, 25.0, 24.0)


def test_heat_capacity_is_the_handbooks():
    # Table 4-8 of GTR-190, kJ per kg of moist wood and K (from memory): 280, 300, 320, 340, 360 K.
    table = {
        0.0: (1.2, 1.3, 1.3, 1.4, 1.5),
        5.0: (1.3, 1.4, 1.5, 1.6, 1.7),
        12.0: (1.5, 1.7, 1.8, 1.9, 2.0),
        20.0: (1.7, 1.9, 2.0, 2.2, 2.3),
    }
    for moisture in table:
        for i in range(5):
            at_c = 280.0 + 20.0 * i - 273.15
            per_kg = wood.heat_j_kg_k(moisture, at_c) / (1.0 + 0.01 * moisture)
            assert near(per_kg, 1000.0 * table[moisture][i], 51.0), (moisture, i)
    # A library's documentation of the same formula works 12 %, 340 K out as 1.91 kJ/(kg K).
    assert near(wood.heat_j_kg_k(12.0, 340.0 - 273.15) / 1.12, 1910.0, 8.0)


def test_water_beyond_the_walls_is_plain_water():
    # 10 % of a kilogram of water at 4.18 kJ/(kg K).
    more = wood.heat_j_kg_k(40.0, 60.0) - wood.heat_j_kg_k(30.0, 60.0)
    assert near(more, 418.0, 0.5)


def test_density_of_sapele_is_the_tables():
    # Chudnoff 1984: sapele air-dry about 42 pcf = 673 kg/m3 at 12 % (from memory); basic gravity 0.55 (seen).
    assert near(wood.density_of(0.55), 673.0, 10.0)
    assert near(wood.piece_density(piece_mapping()), 675.0, 0.1)


def test_gravity_shrinks_from_green_to_oven_dry():
    # Handbook p. 4-8: volume shrinks by about 26.5 % of the basic gravity on the way, none above 30 %.
    assert wood.gravity_at(0.5, 30.0) == wood.gravity_at(0.5, 45.0) == 0.5
    assert near(wood.gravity_at(0.5, 0.0), 0.5 / (1.0 - 0.265 * 0.5), 1e-4)


def test_density_and_basic_gravity_are_one_figure():
    for basic in (0.3, 0.42, 0.55, 0.71, 0.95):
        for moisture in (0.0, 8.0, 12.0, 24.0, 30.0, 40.0):
            there = wood.density_of(basic, moisture)
            assert near(wood.basic_gravity_of(there, moisture), basic, 1e-4)


def test_stated_density_comes_before_the_species():
    piece = piece_mapping()
    piece["density_kg_m3"] = 801
    assert wood.piece_density(piece) == 801.0
    piece["species"] = "a tree of no name"
    assert wood.piece_density(piece) == 801.0
    del piece["density_kg_m3"]
    assert wood.piece_density(piece) is None
    piece["species"] = "  SAPELE "
    assert near(wood.piece_density(piece), 675.0, 0.1)


def test_moisture_counts_what_lies_on_the_faces():
    piece = piece_mapping()
    piece["wetted"] = "dry"
    assert wood.piece_moisture(piece, 675.0) == 8.0
    piece["wetted"] = "misted"
    # 11 % inside; G there 0.55 / (1 - 0.265 x 19/30 x 0.55) = 0.6059, so 1.030 kg/m2 dry and 0.030 of water.
    assert near(wood.piece_moisture(piece, 675.0), 11.0 + 2.91, 0.02)
    piece["moisture_percent"] = 15
    # G at 15 % 0.5932.
    assert near(wood.piece_moisture(piece, 675.0), 15.0 + 2.975, 0.02)
    piece["plies"] = 2
    assert near(wood.piece_moisture(piece, 675.0), 15.0 + 1.487, 0.02)
    piece["thickness_mm"], piece["wetted"], piece["plies"] = 0.4, "soaked", 1
    assert wood.piece_moisture(piece, 675.0) == 60.0
