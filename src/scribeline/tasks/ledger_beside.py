"""Setting beside predictions what was measured afterwards. What was measured before a prediction was kept is refused.

Of a trial that is its runs, not its beginning: docs/decisions/foretold-before-the-runs.md says which moment counts.

`where` and `tell` are those of `scribeline.tasks.notebook`.
"""

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

from scribeline.engine import read_record
from scribeline.errors import LedgerError
from scribeline.geometry.work_out import work_out
from scribeline.learning import Measurement
from scribeline.notebook import LedgerEntryToKeep, Notebook, add_to_ledger, find_trial, ledger_entries
from scribeline.tasks.ledger_state import Promise, promises_of
from scribeline.tasks.notebook import Tell, Where, opened, silently, user_name

if TYPE_CHECKING:
    from scribeline.tasks.trial_first_runs import FirstRun


def set_beside(
    build: str,
    prediction: int,
    value: float,
    plus_minus: float,
    *,
    seen_in: str = "",
    author: str | None = None,
    where: Where = None,
    tell: Tell = silently,
) -> Promise:
    """Set a measurement beside a prediction, in the prediction's unit. prediction : its number in the ledger."""
    Measurement(value, plus_minus)
    with opened(where, tell=tell) as notebook:
        promise = _named(notebook, build, prediction)
        data = {"prediction": promise.number, "value": value, "plus_minus": plus_minus, "seen_in": seen_in}
        add_to_ledger(notebook, build, [LedgerEntryToKeep("measurement", data)], author=author or user_name())
        return _named(notebook, build, prediction)


def set_trial_beside(
    build: str, trial: str, *, setup: str | None = None, predictions: Sequence[int] = (), author: str | None = None,
    where: Where = None, tell: Tell = silently,
) -> list[Promise]:  # fmt: skip
    """Set what a trial measured beside the predictions of the same names that were kept before its first run.

    setup : whose runs; needed where the trial has several, since only one of them is what was predicted. What was
        driven with another setup may have been known: it is what builders foretell from
    predictions : their numbers; where none is named, those for the revision that was driven, else the last ones kept
    Of each measure the mean of the runs, with its 95 % interval, counts. Raises LedgerError where nothing fits, and
    where what fits, or any that was named, was kept after the first run (trial_first_runs.py).
    """
    from scribeline.tasks.trial_first_runs import first_run
    from scribeline.tasks.trial_prediction import seen_in
    from scribeline.tasks.trials import shown
    from scribeline.trials.runs import setups_of

    with opened(where, tell=tell) as notebook:
        found = shown(notebook, trial)
        setups = setups_of(found.measured.runs)
        if setup not in setups and (setup is not None or len(setups) > 1):
            raise LedgerError(
                f"the trial {found.state.trial.name!r} has {len(setups)} setups, and "
                f"{'none was named' if setup is None else f'none of them is {setup!r}'}\n"
                f"    accepted: {', '.join(setups)}\n    what to do: name the one that was predicted"
            )
        chosen = setup or (setups[0] if setups else "")
        means = {
            name: one for name, rows in seen_in(found, [m.key for m in found.measured.measures]).items()
            for one in rows if one.setup == chosen
        }  # fmt: skip
        trial_of = found.state.trial
        if trial_of.build_name not in (None, notebook.build(build).name):
            raise LedgerError(
                f"the trial {trial_of.name!r} was driven with {trial_of.build_name!r}\n"
                f"    accepted: a trial of {build!r}\n    what to do: set it beside the predictions of its own build"
            )
        first = first_run(found.state, find_trial(notebook, trial_of.name)[1], chosen)
        there = [
            one for one in (_open_before(notebook, build, first.at, predictions) if first else ()) if one.name in means
        ]
        if first is not None and (not there or predictions):
            _refuse_late(notebook, build, first, [*means], predictions)
        driven = [one for one in there if one.entry.revision_number == trial_of.revision_number]
        said = f"trial {trial_of.name}" + (f", setup {chosen}" if len(setups) > 1 else "")
        data = {
            one.number: {
                "value": means[one.name].mean, "plus_minus": means[one.name].half_width, "trial": trial_of.name,
                "setup": chosen, "seen_in": f"{said}, mean of {means[one.name].runs} runs",
            }
            for one in (there if predictions else driven or there)
        }  # fmt: skip
        told = f"the trial {trial_of.name!r} measured {', '.join(means) or 'nothing'}"
        return _beside(notebook, build, data, None, told, author)


def set_revision_beside(
    build: str, *, revision: int | None = None, author: str | None = None, where: Where = None, tell: Tell = silently
) -> list[Promise]:
    """Set a revision that was measured afterwards beside what plans said of its card; the latest where None."""
    with opened(where, tell=tell) as notebook:
        kept = notebook.revision(build, revision)
        early = [one for one in _open_before(notebook, build, kept.kept_at) if one.prediction.came_from == "plan"]
        values = work_out(read_record(kept.record_toml, kept.build_name)).values if early else {}
        data = {
            one.number: {
                "value": got.value, "plus_minus": got.plus_minus or 0.0,
                "seen_in": f"revision {kept.number}, measured again",
            }
            for one in early
            if (got := values.get(one.name)) is not None and got.value is not None
        }  # fmt: skip
        told = f"revision {kept.number} comes after no prediction of a plan"
        return _beside(notebook, kept.build_name, data, kept.number, told, author)


def _named(notebook: Notebook, build: str, number: int) -> Promise:
    promises = promises_of(ledger_entries(notebook, build))
    for one in promises:
        if one.number == number:
            return one
    listed = ", ".join(str(one.number) for one in promises)
    raise LedgerError(
        f"prediction {number} of {build!r}\n    accepted: {listed or 'there is none'}\n"
        f"    what to do: scribeline ledger show '{build}' lists them"
    )


def _open_before(notebook: Notebook, build: str, moment: datetime, numbers: Sequence[int] = ()) -> list[Promise]:
    """Predictions that were kept before a moment and count: the named ones, else the last of each name and way."""
    early = [
        one for one in promises_of(ledger_entries(notebook, build)) if one.entry.made_at < moment and not one.left_out
    ]
    if numbers:
        return [one for one in early if one.number in numbers]
    last = {(one.name, one.prediction.came_from, one.entry.revision_number): one for one in early}
    return sorted(last.values(), key=lambda one: one.number)


def _refuse_late(
    notebook: Notebook, build: str, first: "FirstRun", names: Sequence[str], numbers: Sequence[int]
) -> None:
    """LedgerError for the first prediction that would fit and came after the first run. numbers : of those alone."""
    for one in promises_of(ledger_entries(notebook, build)):
        if (
            (not numbers or one.number in numbers)
            and not one.left_out
            and one.name in names
            and one.entry.made_at >= first.at
        ):
            raise LedgerError(
                f"prediction {one.number}, {one.prediction.what}, was written down on {_moment(one.entry.made_at)}, "
                f"after the first run it would be held against: {first.words} on {_moment(first.at)}\n"
                "    accepted: what was foretold before the first run of that setup\n    what to do: foretell the next "
                "runs before they are driven. If the clock of that recording was wrong, set the value beside by itself:"
                f" scribeline ledger beside '{build}' {one.number} VALUE PLUS_MINUS"
            )


def _moment(at: datetime) -> str:
    return f"{at.astimezone(UTC):%Y-%m-%d at %H:%M:%S} UTC"


def _beside(
    notebook: Notebook, build: str, data: Mapping[int, Mapping[str, Any]], revision: int | None, told: str,
    author: str | None,
) -> list[Promise]:  # fmt: skip
    if not data:
        raise LedgerError(
            f"nothing to set beside: {told}\n    accepted: what was predicted under the same name, and kept before it "
            "was measured\n    what to do: keep predictions before the next cut or the next runs"
        )
    entries = [
        LedgerEntryToKeep("measurement", {"prediction": number, **one}, "", revision) for number, one in data.items()
    ]
    add_to_ledger(notebook, build, entries, author=author or user_name())
    return [one for one in promises_of(ledger_entries(notebook, build)) if one.number in data]
