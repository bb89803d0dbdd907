"""How many runs are taken side by side."""

# Compiled: enough that loops over lanes become vector instructions, few enough for a block to stay in cache
# (measured at 20 to 48 cells: 32 lanes are slower by a fifth, 16 by half and more).
BLOCK_LANES = 64
# numpy: enough that its overhead no longer shows.
NUMPY_LANES = 1024
