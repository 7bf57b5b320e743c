"""Undo and redo in the head while a trial is open: one pair for the trial and the work in hand, in order of time."""

import asyncio

from scribeline.tasks.one_undo import Turn, next_turn
from scribeline.tasks.trial_undo import redo_in_trial, undo_in_trial
from scribeline.units import with_inches
from scribeline.web.pages.prove.open_trial import OpenTrial
from scribeline.web.shell import Turn as Kind
from scribeline.web.shell import guarded, say


class TrialTurns:
    """What the head turns on this page (`scribeline.web.shell.Turns`)."""

    def __init__(self, trial: OpenTrial) -> None:
        self._trial = trial
        self._one_by_one = asyncio.Lock()
        trial.page.turns = self
        trial.on_change(trial.page.show_turns)

    def words(self, kind: Kind) -> str | None:
        """What it would be."""
        turn = self._next(kind)
        return turn.words if turn is not None else None

    async def turn(self, kind: Kind) -> None:
        """Turn it, and say so: what is turned in the work in hand does not stand on this page."""
        async with self._one_by_one:  # who presses twice means the next one the second time
            turn, page = self._next(kind), self._trial.page
            if turn is None:
                return
            if turn.entry is not None:
                do = undo_in_trial if kind == "undo" else redo_in_trial
                if await self._trial.do(do, self._trial.name, turn.entry.number) is None:
                    return
            else:
                guarded(page.desk.undo if kind == "undo" else page.desk.redo)
            with page.client:
                place = "in this trial" if turn.entry is not None else "in the work in hand"
                done = "Taken back" if kind == "undo" else "Brought back"
                say(f"{done} {place}: {with_inches(turn.words, page.units)}")

    def _next(self, kind: Kind) -> Turn | None:
        shown = self._trial.shown
        return next_turn(kind, self._trial.page.desk.desk, shown.state) if shown is not None else None
