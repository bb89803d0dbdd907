"""Runs the rig until power is cut."""

from ribwright_board.app import run
from ribwright_board.drivers.board import make_board

run(make_board())
