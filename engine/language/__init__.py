"""The rule language: a line, its types, the words, tables and rules, and the one order everything
runs in.
"""
