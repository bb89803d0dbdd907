"""How good the control is, on stacks nobody has measured: `python -m ribwright_sim.control`, `make control`.

The stacks here are drawn and stepped apart from the rest of the simulator, with plainer physics: what is
tuned and judged on them does not lean on the plant the board is rehearsed with.
"""
