"""`ribwright plan`: from a piece of wood to a profile with its reasons; nothing here talks to a board."""
