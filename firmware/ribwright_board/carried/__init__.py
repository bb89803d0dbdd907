"""Other people's files that a board needs and no installer brings, as they came, each with its licence."""
