"""Ways out of what fails: what a person can do, each proven by a whole run."""
