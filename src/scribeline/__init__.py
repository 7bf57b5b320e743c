"""scribeline: a bench companion for people who modify small two-stroke engines.

measure -> work out -> plan -> mark out -> prove -> learn. Each room of the package is described in its own
`__init__`; imports between rooms point one way, and a contract in pyproject.toml holds them to it.
"""

from scribeline._compiled_cache import use_cache_of_this_source

__version__ = "0.1.0"

use_cache_of_this_source()
