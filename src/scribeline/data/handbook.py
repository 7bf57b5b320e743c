"""Published guide numbers of the trade, read once from handbook.toml.

The numbers stand in the table with their unit, source and caution; handbook.provenance.md says who typed them in,
and when. Nothing is worked out here.
"""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from types import MappingProxyType


@dataclass(frozen=True)
class Guide:
    """One entry of the handbook table; the unit is the end of `key` and is spelt out in `unit`.

    low, high : the published range; both the same where one number was published
    source : key of scribeline.sources
    provenance_class : "read", "memory", "read+memory" or "common practice": how the number reached the table
    provenance : the same in words
    caution : what must be shown wherever the number is
    """

    key: str
    what: str
    low: float
    high: float
    unit: str
    source: str
    provenance_class: str
    provenance: str
    caution: str

    @property
    def value(self) -> float:
        """The one published number; an entry that holds a range refuses, because its middle was never published."""
        if self.low != self.high:
            raise ValueError(f"{self.key} is a range, {self.low:g} to {self.high:g} {self.unit}: use low and high")
        return self.low


@cache
def handbook() -> MappingProxyType[str, Guide]:
    """Every entry of the table by its key, read once.

    >>> handbook()["diffuser_included_taper_deg"].value
    8.0
    """
    table = tomllib.loads(files("scribeline.data").joinpath("handbook.toml").read_text(encoding="utf-8"))
    guides = {}
    for key, entry in table.items():
        if key == "schema":
            continue
        number = entry.pop("value", None)
        low, high = entry.pop("range") if number is None else (number, number)
        guides[key] = Guide(key=key, low=low, high=high, **entry)
    return MappingProxyType(guides)
