"""Limits as the builder set them: tighter than common practice, or switched off, which is then said everywhere."""

from pathlib import Path

from pydantic import field_validator
from pydantic_core import PydanticCustomError

from scribeline.engine import Part
from scribeline.plan.reading import read_part, text_of


class OneLimit(Part):
    """One limit set by the builder: `name` of the card's number, and a bound in its unit."""

    name: str
    low: float | None = None
    high: float | None = None
    off: bool = False
    why: str = ""


class LimitTable(Part):
    """Every limit the builder set."""

    set: tuple[OneLimit, ...] = ()

    @field_validator("set")
    @classmethod
    def _once(cls, limits: tuple[OneLimit, ...]) -> tuple[OneLimit, ...]:
        names = [one.name for one in limits]
        for name in names:
            if names.count(name) > 1:
                raise PydanticCustomError(
                    "out_of_range",
                    "{accepted}",
                    {"accepted": f"{name} once", "value": names.count(name), "remedy": "keep one of them"},
                )
        return limits


def read_limits(text: str, origin: str = "limits") -> LimitTable:
    """Read a table of limits from TOML text; raises PlanError with each problem and its line."""
    return read_part(text, LimitTable, origin)


def read_limits_file(path: Path) -> LimitTable:
    """Read a table of limits from a file; PlanError where it cannot be opened or is refused."""
    return read_limits(text_of(path), str(path))
