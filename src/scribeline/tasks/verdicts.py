"""Comparing: from the names that were typed (tables, trials, setups) to one comparison with everything beside it."""

from collections.abc import Sequence
from contextlib import ExitStack
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path

from scribeline.data.cautions import Caution, cautions_for
from scribeline.errors import NotebookError, TrialError
from scribeline.notebook import Notebook
from scribeline.notebook import trials as listed
from scribeline.recordings import GateTable, ReadOptions, read
from scribeline.tasks.notebook import Tell, Where, opened, silently
from scribeline.tasks.trial_table import runs_of_table
from scribeline.tasks.trials import Shown, shown
from scribeline.trials.road_power import PowerRun
from scribeline.trials.runs import Measure, Run, setups_of
from scribeline.trials.smoothing import Smooth
from scribeline.trials.verdict import Comparison, compare

SOURCES = (
    "welch-1947", "satterthwaite-1946", "rao-1971", "beran-1987", "student-1908", "fisher-1935", "holm-1979",
    "cohen-1988", "iglewicz-hoaglin-1993", "judgement",
)  # fmt: skip
ROAD_SOURCES = ("newton", "fan-gijbels-1996", "cipm-2007")


@dataclass(frozen=True)
class Compared:
    """A comparison with what can be drawn of it and what must be said beside it.

    traces, powers : by run, each with its setup; empty where only times were typed
    """

    comparison: Comparison
    traces: dict[str, tuple[str, Smooth]] = field(default_factory=dict)
    powers: dict[str, tuple[str, PowerRun]] = field(default_factory=dict)
    said: tuple[str, ...] = ()
    cautions: tuple[Caution, ...] = ()
    trials: tuple[Shown, ...] = ()

    @property
    def sources(self) -> tuple[str, ...]:
        """Keys of the bibliography that it rests on."""
        return SOURCES + (ROAD_SOURCES if self.traces or self.powers else ())


@dataclass(frozen=True)
class _Source:
    name: str
    runs: list[Run]
    measures: list[Measure]
    when: dict[str, datetime]
    said: list[str]
    shown: Shown | None = None


def compare_named(
    names: Sequence[str],
    *,
    setups: Sequence[str] = (),
    leave_out: Sequence[str] = (),
    measure: str | None = None,
    correction: str | None = None,
    options: ReadOptions | None = None,
    where: Where = None,
    tell: Tell = silently,
) -> Compared:
    """Compare what is named: files of typed gate times, trials of the notebook, and setups in either.

    names : files and trials say where the runs are; what is neither is the name of a setup in them, the first of
        which is what the others are held against
    setups : the same, for a setup that is called like a file or a trial
    leave_out : what was written down and shall not go in beside the setup ("order", "direction", "day", "pair")
    measure : the only one wanted, as it is called; correction : power in standard air, by the name of a standard

    Raises TrialError where nothing is named that holds runs, and as `compare` does.
    """
    files = [name for name in names if Path(name).is_file()]
    rest = [name for name in names if name not in files]
    sources = [_of_file(Path(name), options) for name in files]
    if rest:
        found, rest = _of_trials(rest, sources, correction, where, tell)
        sources += found
    return _compared(names, sources, [*rest, *setups], leave_out, measure)


def setups_in(trials: Sequence[Shown]) -> list[str]:
    """The setups of these trials as a comparison of them calls them."""
    return setups_of(_joined([_of_shown(one) for one in trials])[0])


def compare_shown(
    trials: Sequence[Shown], *, setups: Sequence[str] = (), leave_out: Sequence[str] = (), measure: str | None = None
) -> Compared:
    """Compare setups in trials that are open already; nothing is looked up. As `compare_named`."""
    names = [one.state.trial.name for one in trials]
    return _compared(names, [_of_shown(one) for one in trials], setups, leave_out, measure)


def _compared(
    names: Sequence[str], sources: list[_Source], setups: Sequence[str], leave_out: Sequence[str], measure: str | None
) -> Compared:
    if not sources:
        raise TrialError(
            f"{', '.join(names) or 'nothing'}: no runs there\n    accepted: files of gate times, and trials that "
            "`scribeline trial list` shows\n    what to do: check the names"
        )
    runs, traces, powers = _joined(sources)
    measures = {one.key: one for source in sources for one in source.measures}
    if measure is not None:
        if measure not in measures:
            raise TrialError(
                f"a measure called {measure}\n    accepted: {', '.join(measures)}\n    what to do: name one as listed"
            )
        measures = {measure: measures[measure]}
    comparison = compare(runs, list(measures.values()), setups, leave_out)
    said = [sentence for source in sources for sentence in source.said]
    wanted = set(comparison.setups)
    return Compared(
        comparison,
        {name: one for name, one in traces.items() if one[0] in wanted},
        {name: one for name, one in powers.items() if one[0] in wanted},
        tuple(dict.fromkeys(said)),
        tuple(cautions_for("run-test")),
        tuple(source.shown for source in sources if source.shown is not None),
    )


def _of_file(path: Path, options: ReadOptions | None) -> _Source:
    found = read(path, options or ReadOptions())
    if not isinstance(found, GateTable):
        raise TrialError(
            f"{path.name} is a recording\n    accepted: a table of gate times\n    what to do: add recordings to a "
            "trial first, `scribeline trial new` and `scribeline trial add`, and compare the trials"
        )
    runs, measures = runs_of_table(found, path.stem)
    return _Source(path.stem, runs, measures, {}, [str(note) for note in found.notes])


def _of_trials(
    names: list[str], sources: list[_Source], correction: str | None, where: Where, tell: Tell
) -> tuple[list[_Source], list[str]]:
    """The trials among the names, and the names that are setups."""
    setups = {setup.casefold() for source in sources for setup in setups_of(source.runs)}
    unknown = [name for name in names if name.casefold() not in setups]
    if sources and not unknown:
        return [], names
    with ExitStack() as stack:
        try:
            notebook = stack.enter_context(opened(where, tell=tell))
        except NotebookError:
            if not sources:
                raise
            return [], names
        return _opened(notebook, names, correction)


def _opened(notebook: Notebook, names: list[str], correction: str | None) -> tuple[list[_Source], list[str]]:
    there = {one.trial.name.casefold(): one.trial.name for one in listed(notebook)}
    found, rest = [], []
    for name in names:
        if name.casefold() not in there:
            rest.append(name)
            continue
        found.append(_of_shown(shown(notebook, there[name.casefold()], correction)))
    return found, rest


def _of_shown(one: Shown) -> _Source:
    done = one.measured
    return _Source(one.state.trial.name, done.runs, done.measures, done.when, done.said, one)


def _joined(
    sources: list[_Source],
) -> tuple[list[Run], dict[str, tuple[str, Smooth]], dict[str, tuple[str, PowerRun]]]:
    """The runs of all sources under names that cannot be mixed up, with their place in the day."""
    several = len(sources) > 1
    twice = {
        setup
        for source in sources
        for setup in setups_of(source.runs)
        if sum(setup in setups_of(other.runs) for other in sources) > 1
    }
    runs: list[Run] = []
    traces: dict[str, tuple[str, Smooth]] = {}
    powers: dict[str, tuple[str, PowerRun]] = {}
    when: dict[int, datetime] = {}
    for source in sources:
        for run in source.runs:
            setup = f"{source.name}: {run.setup}" if run.setup in twice else run.setup
            name = f"{source.name} {run.name}" if several else run.name
            # Places that were counted in different tables do not follow each other.
            order = None if several else run.order
            if run.name in source.when:
                when[len(runs)] = source.when[run.name]
            runs.append(Run(**(vars(run) | {"setup": setup, "name": name, "order": order})))
            if source.shown is not None:
                done = source.shown.measured
                if run.name in done.traces and not run.dropped:
                    traces[name] = (setup, done.traces[run.name][1])
                if run.name in done.powers and not run.dropped:
                    powers[name] = (setup, done.powers[run.name][1])
    if len(when) == len(runs):
        in_order = sorted(when, key=lambda i: when[i])
        places = {i: float(place) for place, i in enumerate(in_order, start=1)}
        runs = [Run(**(vars(run) | {"order": places[i]})) for i, run in enumerate(runs)]
    return runs, traces, powers
