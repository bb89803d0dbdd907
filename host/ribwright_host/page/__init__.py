"""The bench page: a run seen from two metres, and less heat asked for from there."""
