"""The loop for eight engines in doubles, so that the two loops can be held against each other to rounding."""

import pytest

from scribeline.cycle.layout import aligned


@pytest.fixture
def in_doubles(monkeypatch: pytest.MonkeyPatch) -> None:
    """Gas side by side in doubles instead of single precision; everything else as it is."""
    monkeypatch.setattr("scribeline.cycle.lanes.aligned", lambda rows, columns, single=False: aligned(rows, columns))
