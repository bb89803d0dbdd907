"""Fuzzing of the serial link: frames of every kind, from a seed, into both of its ends.

`python -m ribwright_sim.fuzz FOLDER` plays them; `python -m ribwright_sim.fuzz.guided` lets coverage choose.
"""
