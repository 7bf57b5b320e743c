"""Gaskets at hand typed on one line, for those who have no file of their parts yet."""

import re
from pathlib import Path

from pydantic import ValidationError

from scribeline.engine import Measured
from scribeline.errors import SearchError
from scribeline.plan.box import Box, Sheet, read_box_file
from scribeline.units import Units, read_quantity

_MOST_OF_ONE = 12
_ACCEPTED = (
    'a file of parts at hand, such as gaskets.toml, or a list such as "base 0.5x2 0.3, head 0.8 1.0": thickness in mm '
    f"from 0.02 to 10 with a decimal point, x how many, at most {_MOST_OF_ONE}"
)


def box_of(given: str) -> Box:
    """Parts at hand from the name of a file, or gaskets from a list such as "base 0.5x2 0.3, head 0.8 1.0".

    For the command line alone: what comes from elsewhere must not name a file, and goes to `gaskets_of`. SearchError
    for a list that cannot be read, PlanError for a file.

    >>> [(one.name, one.count) for one in box_of("base 0.5x2 0.3, head 0.8").gaskets]
    [('base 0.5', 2), ('base 0.3', 1), ('head 0.8', 1)]
    """
    if given.endswith(".toml") or Path(given).is_file():
        return read_box_file(Path(given))
    return gaskets_of(given)


def gaskets_of(given: str, units: Units = "mm") -> Box:
    """Gaskets from a list such as "base 0.5x2 0.3, head 0.8 1.0"; no file is looked for.

    units : what the numbers are in; a sheet's name keeps its inches, with their unit
    A sheet that is typed counts with this thickness when tightened. SearchError for a list that cannot be read.

    >>> [one.name for one in gaskets_of("base 0.5, head 0.8").gaskets]
    ['base 0.5', 'head 0.8']
    >>> [(one.name, one.nominal_mm.value) for one in gaskets_of("base 0.020", "inch").gaskets]
    [('base 0.020 in', 0.508)]
    """
    sheets: dict[str, Sheet] = {}
    inches = units == "inch"
    for part in re.split(r"\s*[,;]\s*", given.strip()):
        side, *typed = part.split() or [""]
        if side not in ("base", "head") or not typed:
            raise _not_read(given)
        for one in typed:
            found = re.fullmatch(r"(\d+(?:\.\d+)?)(?:x(\d{1,2}))?", one)
            count = int(found[2] or 1) if found else 0
            name = "" if found is None else f"{side} {found[1]} in" if inches else f"{side} {float(found[1]):g}"
            if found is None or not 1 <= count <= _MOST_OF_ONE or name in sheets:
                raise _not_read(given)
            try:
                typed = f"{found[1]} in" if inches else None
                thickness = Measured(value=read_quantity(typed or found[1], "mm").value, typed=typed)
                typed_sheet = {"name": name, "fits": side, "nominal_mm": thickness, "count": count}
                sheets[name] = Sheet.model_validate(typed_sheet)
            except ValidationError:
                raise _not_read(given) from None
    return Box(gaskets=tuple(sheets.values()))


def _not_read(given: str) -> SearchError:
    return SearchError(f"--gaskets {given}\n    accepted: {_ACCEPTED}\n    what to do: write it again")
