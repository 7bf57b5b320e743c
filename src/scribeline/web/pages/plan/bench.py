"""What the parts of an open plan page share: the engine, the plan in hand, and who is told when either changes."""

import asyncio
import copy
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from scribeline.errors import RecordError
from scribeline.tasks.plan_in_hand import PlanInHand, plan_in_hand, record_in_hand
from scribeline.tasks.plan_kept import folder_of
from scribeline.web.shell import StepPage

if TYPE_CHECKING:
    from scribeline.engine import EngineRecord


class Bench:
    """The plan of one open page.

    now : the plan as it is shown: kept, or with a slider's place that was not let go of yet
    on_look : told of either, at most as often as it can be drawn; on_kept : told of what was kept
    """

    def __init__(self, page: StepPage, record: "EngineRecord") -> None:
        self.page, self.record = page, record
        self.place: Path = folder_of(page.state.folder, page.build)
        self.now: PlanInHand = plan_in_hand(record, self.document)
        self.kept = self.now
        self._look: list[Callable[[], object]] = []
        self._kept: list[Callable[[], object]] = []
        self._wanted: tuple[str, Any] | None = None
        self._drawing: asyncio.Task[None] | None = None
        page.desk.on_change(self._changed)

    @property
    def document(self) -> dict[str, Any]:
        """The plan as the work in hand has it."""
        found = self.page.desk.get("plan")
        return found if isinstance(found, dict) else {}

    @property
    def steps(self) -> list[dict[str, Any]]:
        """Its steps as written."""
        found = self.document.get("steps")
        return [one for one in found if isinstance(one, dict)] if isinstance(found, list) else []

    def on_look(self, callback: Callable[[], object]) -> None:
        """Have it called whenever the plan looks different."""
        self._look.append(callback)

    def on_kept(self, callback: Callable[[], object]) -> None:
        """Have it called when the plan in hand, or the engine, has changed."""
        self._kept.append(callback)

    def put(self, path: str, value: Any, label: str) -> bool:
        """Keep an edit at a place of the plan, such as "steps.0.up_mm"."""
        self._wanted = None
        return self.page.desk.edit(f"plan.{path}", value, label)

    def look(self, path: str, value: Any) -> None:
        """Show the plan as it would be with a value at a place, without keeping it; the latest wish wins."""
        self._wanted = (path, value)
        if self._drawing is None or self._drawing.done():
            self._drawing = asyncio.get_running_loop().create_task(self._draw())

    async def _draw(self) -> None:
        while self._wanted is not None:
            (path, value), self._wanted = self._wanted, None
            document = copy.deepcopy(self.document)
            _set(document, path.split("."), value)
            self.now = plan_in_hand(self.record, document)
            for callback in self._look:
                with self.page.client:
                    callback()
                await asyncio.sleep(0)  # the other pages want to be answered between two drawings

    def _changed(self, paths: Sequence[str]) -> None:
        keys = {path.partition(".")[0] for path in paths}
        if not keys & {"plan", "record"}:
            return
        if "record" in keys:
            try:
                self.record = record_in_hand(self.page.desk.get("record"), self.page.build)
            except RecordError:
                return  # half typed on another device: the engine before it stays in view until it is whole
        self.now = self.kept = plan_in_hand(self.record, self.document)
        with self.page.client:
            for callback in (*self._look, *self._kept):
                callback()


def _set(document: Any, keys: Sequence[str], value: Any) -> None:
    for key in keys[:-1]:
        document = document[int(key)] if isinstance(document, list) else document.setdefault(key, {})
    last = keys[-1]
    if isinstance(document, list):
        document[int(last)] = value
    else:
        document[last] = value
