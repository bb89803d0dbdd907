"""Firmware of the rig: the board is one more place where this package is installed."""

__version__ = "0.1.0"
