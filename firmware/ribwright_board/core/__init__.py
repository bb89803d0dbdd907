"""Pure logic: no machine, no clock, no files; the same on the board and on a computer."""
