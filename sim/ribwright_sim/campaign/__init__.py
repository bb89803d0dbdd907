"""Fault campaign: faults injected into the true firmware, and what came of each."""
