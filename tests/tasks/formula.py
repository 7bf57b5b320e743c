"""A simulator that is a formula, in place of the real one where only what is made of its figures is tested."""

import tempfile
from collections.abc import Collection, Iterable, Iterator, Sequence

import numpy as np
import pytest

from scribeline.engine import EngineRecord
from scribeline.errors import SearchError
from scribeline.geometry.work_out import WorkedOut, work_out
from scribeline.plan import search_alone, search_finalists, search_judging, search_plans, who_limits
from scribeline.plan.merits import Swept


def sweeps(
    records: Iterable[EngineRecord | WorkedOut], points: Sequence[float], settings: object = None, **more: object
) -> Iterator[Swept]:
    """1 kW for each degree of blowdown (no more than 26), 2 for each mm that the squish is narrower, at every speed."""
    progress, reached, known = more.get("progress"), more.get("reached"), more.get("leave_out", ())
    assert isinstance(known, Collection)
    for done, record in enumerate(records, start=1):
        out = record if isinstance(record, WorkedOut) else work_out(record, draws=0)
        blowdown, squish = out.value("blowdown_deg"), out.value("squish_gap_mm")
        assert blowdown is not None
        assert squish is not None
        flat, single = np.ones(len(points)), np.ones(1)
        power = (min(blowdown, 26.0) - 10.0 - 2.0 * squish) * flat
        for speed in points:
            if callable(reached) and speed not in known:
                reached(done - 1, Swept(speed * single, power[:1], 80.0 * single, 5.0 * single, 700.0 * single))
        yield Swept(np.asarray(points), power, 80.0 * flat, 5.0 * flat, 700.0 * flat)
        if callable(progress) and progress(done, len(list(records))):
            raise SearchError("stopped, as asked")


def put_in(patch: pytest.MonkeyPatch) -> None:
    """Let every part of the search simulate by the formula."""
    patch.setenv("SCRIBELINE_SEARCHES", tempfile.mkdtemp(prefix="scribeline-searches-"))
    for module in (search_alone, search_finalists, search_judging, search_plans, who_limits):
        patch.setattr(module, "sweep_many", sweeps)
