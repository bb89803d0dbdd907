"""Computers at the board's cable that behave badly, for an hour of virtual time, and what comes of it."""
