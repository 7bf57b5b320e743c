"""Empirical relations, one per file, each with its source, its valid range and which of its numbers are knobs.

Functions that the time loop needs are plain scalar compiled functions; the rest is plain Python.
"""
