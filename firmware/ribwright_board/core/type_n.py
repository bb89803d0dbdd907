"""Type N: slope of the MAX31855's straight line, and the reference table; loaded where a rig has one.

Slope: data sheet 19-5793 rev 5, table 1, part for type N. Table: ITS-90, reference junction 0 C (NIST
Monograph 175, table for type N), laid out as sensing.K_TABLE_UV.
"""

LINE_UV_PER_K = 36.256
TABLE_UV = (
    (-1269, -1023, -772, -518, -260, 0, 261, 525, 793, 1065, 1340, 1619)
    + (1902, 2189, 2480, 2774, 3072, 3374, 3680, 3989, 4302, 4618, 4937, 5259)
    + (5585, 5913, 6245, 6579, 6916, 7255, 7597, 7941, 8288, 8637, 8988, 9341)
    + (9696, 10054, 10413, 10774, 11136, 11501, 11867, 12234, 12603, 12974)
)
