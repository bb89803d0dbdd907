"""Three days of heat on one virtual board: what it does for hours, when nothing is wrong."""
