"""Limits, faults, exact numbers with units, text that knows its place: what everything else stands
on.
"""
