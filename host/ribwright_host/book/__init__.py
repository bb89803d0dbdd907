"""The notebook: pieces, sides, runs and what came of them, kept in one file."""
