"""The cautions, by the kind of output they belong on. The words stand in cautions.toml, their sources beside it."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from types import MappingProxyType


@dataclass(frozen=True)
class Caution:
    """One caution: its key, what to say, and the kinds of output that carry it ("all" means every kind)."""

    key: str
    text: str
    goes_on: tuple[str, ...]


@cache
def all_cautions() -> Mapping[str, Caution]:
    """Every caution by its key, in the order of the table."""
    table = tomllib.loads(files("scribeline.data").joinpath("cautions.toml").read_text(encoding="utf-8"))
    del table["schema"]
    return MappingProxyType({key: Caution(key, one["text"], tuple(one["goes_on"])) for key, one in table.items()})


def cautions_for(*outputs: str) -> list[Caution]:
    """The cautions that an output of these kinds must carry, those for all outputs last.

    >>> [caution.key for caution in cautions_for("template")]
    ['eyes', 'irreversible', 'print-check', 'professional']
    """
    return [c for c in all_cautions().values() if "all" in c.goes_on or set(outputs) & set(c.goes_on)]
