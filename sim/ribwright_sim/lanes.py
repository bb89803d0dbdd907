"""How many runs are taken side by side."""

# Compiled: enough that loops over lanes become vector instructions, few enough for a block to stay in cache
# (measured: 32 is slower by a tenth, 128 by a third).
BLOCK_LANES = 64
# numpy: enough that its overhead no longer shows.
NUMPY_LANES = 1024
