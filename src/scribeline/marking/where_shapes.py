"""What a drawing of places is made of: the engine's part underneath, and what can be lit on it."""

from collections.abc import Mapping
from dataclasses import dataclass

from scribeline.marking.shapes import Group, Shape

Places = Mapping[str, tuple[str, tuple[Shape, ...]]]


@dataclass(frozen=True)
class Where:
    """groups : drawn always. places : by name, what each is called and the shapes that show it."""

    description: str
    groups: tuple[Group, ...]
    places: Places
