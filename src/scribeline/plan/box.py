"""What the builder has lying about: gaskets, pipes and sections, reed blocks, petals, carburettors.

Whatever is swapped is taken from here, by name, so that a plan never asks for a part that nobody has. A box is a TOML
file of its own or the `[box]` of a plan.
"""

from pathlib import Path
from typing import Literal

from scribeline.engine import GasketSheet, Part
from scribeline.engine.breathing import Exhaust, Reed, Section
from scribeline.engine.measured import Measured, given
from scribeline.plan.reading import read_part, text_of


class Sheet(GasketSheet):
    """A gasket sheet or a spacer at hand."""

    name: str
    fits: Literal["base", "head", "both"]
    count: int = 1

    def sheet(self) -> GasketSheet:
        """The sheet as a record lists it."""
        return GasketSheet(nominal_mm=self.nominal_mm, compressed_mm=self.compressed_mm, material=self.material)


class Pipe(Exhaust):
    """A whole exhaust pipe at hand."""

    name: str


class PipeSection(Section):
    """One section of a pipe at hand, to take the place of another."""

    name: str


class ReedBlock(Reed):
    """A reed block at hand."""

    name: str


class Petals(Part):
    """A set of reed petals at hand, cut for the block that is fitted."""

    name: str
    petal_thickness_mm: Measured = given("mm", 0.05, 3, "one petal, away from the edge", "micrometer", needed=True)
    material: Literal["glass fibre", "carbon fibre", "steel"]


class Carburettor(Part):
    """A carburettor at hand."""

    name: str
    bore_mm: Measured = given("mm", 2, 80, "at its narrowest, throttle open", "caliper", needed=True)
    length_mm: Measured = given("mm", 0.5, 3000, "from flange to mouth, along the middle line", "ruler", needed=True)
    mouth_mm: Measured = given("mm", 2, 400, "inside diameter of its mouth", "caliper", needed=True)


class Box(Part):
    """Everything at hand; each list may be empty."""

    invented: bool = False
    gaskets: tuple[Sheet, ...] = ()
    pipes: tuple[Pipe, ...] = ()
    sections: tuple[PipeSection, ...] = ()
    reeds: tuple[ReedBlock, ...] = ()
    petals: tuple[Petals, ...] = ()
    carburettors: tuple[Carburettor, ...] = ()


def read_box(text: str, origin: str = "parts at hand") -> Box:
    """Read a box from TOML text; raises PlanError with each problem, its line, what is accepted and what to do."""
    return read_part(text, Box, origin)


def read_box_file(path: Path) -> Box:
    """Read a box from a file; PlanError where it cannot be opened or is refused."""
    return read_box(text_of(path), str(path))
