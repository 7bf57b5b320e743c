"""The gaskets a builder can fit: a small file, or a list typed on one line.

    scribeline_gaskets = 1
    [[base]]
    nominal_mm = 0.50
    compressed_mm = 0.46
    count = 2

A sheet that was never measured tightened counts with its nominal thickness, as everywhere.
"""

import re
import tomllib
from pathlib import Path
from typing import Literal

from pydantic import Field, ValidationError

from scribeline.engine import GasketSheet, Measured, Part
from scribeline.errors import SearchError

Side = Literal["base", "head"]
_MOST_OF_ONE = 12
_TYPED = 'a file such as gaskets.toml, or a list such as "base 0.5x2 0.3, head 0.8 1.0": thickness in mm x how many'


class BoxedSheet(GasketSheet):
    """One kind of sheet in the box and how many of it there are."""

    count: int = Field(1, ge=1, le=_MOST_OF_ONE)

    @property
    def sheet(self) -> GasketSheet:
        """The sheet as it would stand in an engine record."""
        return GasketSheet(nominal_mm=self.nominal_mm, compressed_mm=self.compressed_mm, material=self.material)


class GasketBox(Part):
    """What may be fitted under the barrel and under the head.

    bare : sides that may also go without any gasket, as with a sealing ring or compound
    """

    scribeline_gaskets: Literal[1] = 1
    name: str = "gasket box"
    note: str = ""
    invented: bool = False
    base: tuple[BoxedSheet, ...] = ()
    head: tuple[BoxedSheet, ...] = ()
    bare: tuple[Side, ...] = ()


def read_gasket_box(text: str, origin: str = "gasket box") -> GasketBox:
    """Read a gasket box from TOML text; SearchError with the place, what is accepted and what to do.

    >>> read_gasket_box("[[head]]\\nnominal_mm = 0.8\\ncount = 2").head[0].count
    2
    """
    try:
        data = tomllib.loads(text)
        data.setdefault("scribeline_gaskets", 1)
        return GasketBox.model_validate(_tuples(data))
    except tomllib.TOMLDecodeError as error:
        raise SearchError(f"{origin}: {error}\n    accepted: TOML\n    what to do: look at this line") from None
    except ValidationError as error:
        lines = [f"{origin}: {error.error_count()} problem(s)"]
        for one in error.errors(include_url=False):
            where = ".".join(str(part + 1) if isinstance(part, int) else part for part in one["loc"])
            lines.append(f"{where} = {one['input']!r}: {one['msg']}")
        accepted = f"sheets of 0.02 to 10 mm under [[base]] and [[head]], count 1 to {_MOST_OF_ONE}"
        raise SearchError("\n  ".join(lines) + f"\n    accepted: {accepted}\n    what to do: write it again") from None


def gasket_box_of(given: str) -> GasketBox:
    """A box from the name of a file or from a typed list such as "base 0.5x2 0.3, head 0.8 1.0"; SearchError.

    >>> [one.nominal_mm.value for one in gasket_box_of("base 0.5x2 0.3, head 0.8").base]
    [0.5, 0.3]
    """
    path = Path(given)
    if given.endswith(".toml") or path.is_file():
        try:
            return read_gasket_box(path.read_text(encoding="utf-8"), given)
        except (OSError, UnicodeDecodeError) as error:
            reason = getattr(error, "strerror", None) or "no UTF-8 text"
            raise SearchError(
                f"--gaskets {given}: {reason}\n    accepted: {_TYPED}\n    what to do: check the name"
            ) from None
    sides: dict[str, list[BoxedSheet]] = {"base": [], "head": []}
    for part in re.split(r"\s*[,;]\s*", given.strip()):
        side, *sheets = part.split() or [""]
        if side not in sides or not sheets:
            raise _not_read(given)
        for sheet in sheets:
            found = re.fullmatch(r"(\d+(?:\.\d+)?)(?:x(\d{1,2}))?", sheet)
            if found is None:
                raise _not_read(given)
            try:
                thickness = Measured(value=float(found[1]))
                sides[side].append(BoxedSheet(nominal_mm=thickness, count=int(found[2] or 1)))
            except ValidationError:
                raise _not_read(given) from None
    return GasketBox(base=tuple(sides["base"]), head=tuple(sides["head"]), name="typed list")


def _not_read(given: str) -> SearchError:
    return SearchError(
        f"--gaskets {given}\n    accepted: {_TYPED}, 0.02 to 10 mm, 1 to {_MOST_OF_ONE} of each, with a decimal point"
        "\n    what to do: write it again"
    )


def _tuples(data: object) -> object:
    """Lists as tuples: the records are strict."""
    if isinstance(data, list):
        return tuple(_tuples(one) for one in data)
    if isinstance(data, dict):
        return {key: _tuples(one) for key, one in data.items()}
    return data
