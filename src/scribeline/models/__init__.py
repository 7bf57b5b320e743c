"""Empirical relations, one per file, each with its source and valid range. Empty until the cycle needs them."""
