"""How well the rules are tested: examples, coverage, mutants."""
