"""How a strip lies: bass and treble are mirror images; with the wrong face outside it is lost."""
