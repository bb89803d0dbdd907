"""Thermal simulation and the virtual rig."""
