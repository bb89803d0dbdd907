"""Type J: slope of the MAX31855's straight line, and the reference table; loaded where a rig has one.

Slope: data sheet 19-5793 rev 5, table 1, part for type J. Table: ITS-90, reference junction 0 C (NIST
Monograph 175, table for type J), laid out as sensing.K_TABLE_UV.
"""

LINE_UV_PER_K = 57.953
TABLE_UV = (
    (-2431, -1961, -1482, -995, -501, 0, 507, 1019, 1537, 2059, 2585, 3116)
    + (3650, 4187, 4726, 5269, 5814, 6360, 6909, 7459, 8010, 8562, 9115, 9669)
    + (10224, 10779, 11334, 11889, 12445, 13000, 13555, 14110, 14665, 15219, 15773, 16327)
    + (16881, 17434, 17986, 18538, 19090, 19642, 20194, 20745, 21297, 21848)
)
