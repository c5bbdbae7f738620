"""The derivation of a finished run as a graph, and an independent check of it."""
