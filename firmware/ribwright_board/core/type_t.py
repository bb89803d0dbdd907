"""Type T: slope of the MAX31855's straight line, and the reference table; loaded where a rig has one.

Slope: data sheet 19-5793 rev 5, table 1, part for type T. Table: ITS-90, reference junction 0 C (NIST
Monograph 175, table for type T), laid out as sensing.K_TABLE_UV.
"""

LINE_UV_PER_K = 52.18
TABLE_UV = (
    (-1819, -1475, -1121, -757, -383, 0, 391, 790, 1196, 1612, 2036, 2468)
    + (2909, 3358, 3814, 4279, 4750, 5228, 5714, 6206, 6704, 7209, 7720, 8237)
    + (8759, 9288, 9822, 10362, 10907, 11458, 12013, 12574, 13139, 13709, 14283, 14862)
    + (15445, 16032, 16624, 17219, 17819, 18422, 19030, 19641, 20255, 20872)
)
