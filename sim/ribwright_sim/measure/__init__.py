"""How fast the solver is beside its peers, on the reference problem.  Needs the extras `fast` and `peers`."""
