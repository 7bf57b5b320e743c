"""Long work that belongs to a cylinder rather than to a page: any page on it sees it, and a reload finds it again."""

from collections.abc import Callable
from typing import Any
from weakref import WeakKeyDictionary

from nicegui import Client, ui

from scribeline.tasks.plan_kept import Kind, kept, kept_at
from scribeline.web.pages.plan.bench import Bench
from scribeline.web.shell import button, said, text
from scribeline.web.workers import Job, Workers

_RUNNING: WeakKeyDictionary[Workers, dict[tuple[str, str], tuple[Job, str]]] = WeakKeyDictionary()
LOOK_S = 0.25


def running(bench: Bench, kind: Kind) -> Job | None:
    """The work of this kind on this cylinder that goes on now, or ended last."""
    return _found(bench, kind)[0]


def underway(bench: Bench, kind: Kind, of: str) -> Job | None:
    """The work of this kind that goes on now, if it is of this very plan: another page may have begun it."""
    job, whose = _found(bench, kind)
    return job if job is not None and not job.ended and whose == of else None


def _found(bench: Bench, kind: Kind) -> tuple[Job | None, str]:
    return _RUNNING.get(bench.page.state.workers, {}).get((bench.page.build, kind), (None, ""))


def start(
    bench: Bench, kind: Kind, function: Callable[..., Any], of: str, *args: Any, what: str, quick: bool = False
) -> Job:
    """Have work done on the plan as it is kept; work of the same kind that still goes on is stopped."""
    before = running(bench, kind)
    if before is not None:
        before.stop()
    workers = bench.page.state.workers
    job = workers.start(function, bench.place, of, *args, what=what, quick=quick)
    _RUNNING.setdefault(workers, {})[bench.page.build, kind] = job, of
    return job


class Watch:
    """A bar with words and a button to stop, shown while work of one kind goes on; tells when what is kept changed."""

    def __init__(self, bench: Bench, kind: Kind) -> None:
        self.bench, self.kind = bench, kind
        self._show: Callable[[dict[str, Any] | None], object] = lambda document: None
        self._seen: Any = object()
        self._ended: Job | None = None
        self._attended: Job | None = None
        self._asked_to_stop: Job | None = None
        with ui.element("div").classes("working").props("role=group aria-label='Work in progress'") as self._box:
            self._bar = ui.element("progress").props('max=1 value=0 aria-label="How far it is"')
            self._words = text("", "p")
            self._stop = button("Stop", self._stopped)
        with ui.element("div").classes("refused").props("role=alert") as self._refused:
            self._why = text("", "p")
        self._note = text("", "p").classes("quiet").props("role=status")
        self._box.set_visibility(False)
        self._refused.set_visibility(False)

    def follow(self, show: Callable[[dict[str, Any] | None], object]) -> None:
        """Have `show` called with what is kept of the kind, None for nothing yet: now, and whenever it has changed."""
        self._show = show
        self.show_kept()
        ui.timer(LOOK_S, self._tick)  # for work that another page began

    def attend(self, job: Job) -> None:
        """Look at once when this work has kept something, or has ended, rather than at the next tick."""
        self._attended = job
        job.on_progress(lambda told: self._at_once(job) if "kept" in told else None)
        job.on_end(self._at_once)

    def _at_once(self, job: Job) -> None:
        client = self.bench.page.client
        if job is self._attended and client.id in Client.instances:  # the page may be gone, or want other work by now
            with client:
                self._tick()

    @property
    def going_on(self) -> bool:
        """Whether work of this kind goes on now."""
        job = running(self.bench, self.kind)
        return job is not None and not job.ended

    def show_kept(self) -> None:
        """Show what is kept."""
        self._kept_at = kept_at(self.bench.place, self.kind)
        self._show(kept(self.bench.place, self.kind))

    def kept_of(self) -> str:
        """What the kept result is of; "" for nothing yet."""
        return str((kept(self.bench.place, self.kind) or {}).get("of", ""))

    def _stopped(self) -> None:
        job = self._asked_to_stop = running(self.bench, self.kind)
        if job is not None:
            job.stop()

    def _tick(self) -> None:
        if kept_at(self.bench.place, self.kind) != self._kept_at:
            self.show_kept()
        job = running(self.bench, self.kind)
        if job is None:
            return
        self._box.set_visibility(not job.ended)
        if not job.ended:
            self._note.set_text("")
        if job.ended and self._ended is not job:
            self._ended = job
            self._refuse("" if job.state in ("done", "stopped") else job.error or "")
            if job is self._asked_to_stop and self.kind != "search":  # the search says itself how far it came
                there = "Below is what was finished" if self.kept_of() else "Nothing was finished before"
                self._note.set_text(f"Stopped, as asked. {there}.")
            self.show_kept()
            return
        progress = job.progress
        if progress is self._seen or job.ended:
            return
        self._seen = progress
        if isinstance(progress, dict) and progress.get("doing"):
            done, of = progress["done"], max(progress["of"], 1)
            self._bar.props(f"max={of} value={done}")
            best = f"; {progress['best']}" if progress.get("best") else ""
            self._words.set_text(f"{progress['doing']}: {done} of {of}{progress.get('what', '')}{best}")
        elif job.state == "waiting":
            self._words.set_text("waiting for other work to end")

    def begun(self, words: str) -> None:
        """Show at once that it was started."""
        self._bar.props("max=1 value=0")
        self._words.set_text(words)
        self._box.set_visibility(True)
        self._refuse("")

    def _refuse(self, words: str) -> None:
        self._why.set_text(" ".join(said(words)))
        self._refused.set_visibility(bool(words))
