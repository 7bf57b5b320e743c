"""Compiled numerics: SI floats and arrays in, numbers or status codes out.

Nothing here knows of files, classes, users or their units. Kernels import numpy, numba and math only, so
that they can be tested against exact solutions and compiled for other processors from the same source.
"""
