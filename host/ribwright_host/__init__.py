"""Host tools: what a person runs on a computer."""
