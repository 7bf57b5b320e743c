"""The page itself: its drawings, the port in hand, the numbers, and what happens when an edge is held.

While an edge moves, the browser tells where it is some twenty times a second. Only the latest is worked out, in a
thread; what shows of it goes back. When it is let go it is saved as one edit, and worked out once more with its +/-.
"""

import asyncio
import json
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from functools import partial
from html import escape
from typing import Any, get_args

from nicegui import run, ui
from nicegui.events import GenericEventArguments

from scribeline.errors import ScribelineError, TypedValueError
from scribeline.tasks.as_if import (
    KEY,
    Moves,
    Side,
    Travel,
    as_cuts,
    as_readings,
    kept_as,
    label_of,
    moved_by,
    moves_of,
    off_to_open_at,
    opening_edge,
    outside,
    plan_with,
)
from scribeline.tasks.inline_drawings import InlineDrawing
from scribeline.tasks.live_drawings import DRAWINGS, port_named, side_by_side
from scribeline.tasks.work_out_frame import Frame, frame
from scribeline.tasks.work_out_view import measured_at, working_of
from scribeline.units import as_meant, read_quantity
from scribeline.web.calls import gone_out
from scribeline.web.drawing import NOT_TO_SCALE
from scribeline.web.pages.first import lacks, list_lacks
from scribeline.web.pages.work_out import controls, numbers
from scribeline.web.shell import StepPage, button, cautions, failure, guarded, said, say, section, text

_CAPTIONS = {
    "bore": "The bore unrolled, the piston over it",
    "section": "Section at this crank angle",
    "dial": "When what is open",
    "areas": "How far it is open",
    "squish": "Squish, piston at the top",
}
_FIRST_DEG = 60.0
_QUIET_S = 0.6  # judgement: between two values that are typed or stepped through; what nobody waits for must not begin


@dataclass(frozen=True)
class _Wanted:
    """What is to be worked out next. moves : of an edge in motion; None takes what the work in hand keeps."""

    moves: Moves | None = None


@dataclass(frozen=True)
class _ToKeep:
    """What is saved as one edit once it stands on the page. typed : place and text of the fields it was typed into"""

    moves: Moves
    label: str
    typed: tuple[tuple[str, str], ...] = ()


class WorkOut:
    """One open page of the step "Work out"."""

    def __init__(self, page: StepPage) -> None:
        self.page = page
        self.frame = frame(self._document, plus_minus=False, units=page.preferences.units)
        self.shape = _shape(self.frame)
        self.seen: Collection[str] = tuple(DRAWINGS)
        self.opened: list[str] = []
        self.told: dict[str, tuple[str, str]] = {}
        self._wanted: _Wanted | None = None
        self._to_keep: _ToKeep | None = None
        self._under_way: Moves | None = None  # where edges stand that are on their way to being saved
        self._asked = 0  # how often something was wanted: what took longer than until the next time is not shown
        self._sure: asyncio.Task[None] | None = None
        self._task: asyncio.Task[None] | None = None
        ui.add_head_html('<link rel="stylesheet" href="/static/work_out.css">')
        ui.add_head_html('<script type="module" src="/static/work_out.js"></script>')
        self._build()
        page.desk.on_change(self._changed)
        ui.timer(0.0, lambda: self._make_sure(), once=True)

    @property
    def _document(self) -> dict[str, Any]:
        return dict(self.page.desk.desk.document)

    # --- what stands on the page -------------------------------------------------------------------------------------

    def _build(self) -> None:
        bench = self.frame.bench
        if bench.problems or bench.contradiction:
            self._what_is_wrong()
        if bench.now is None:
            return
        self._summary()
        self._drawings()
        self._numbers()

    def _what_is_wrong(self) -> None:
        bench = self.frame.bench
        with section("Not everything can be worked out yet"):
            with ui.element("div").classes("warning certain"):
                if bench.contradiction:
                    for line in bench.contradiction.splitlines():
                        text(line.strip())
                list_lacks(self.page, lacks(self.page))
            if bench.now is not None:
                text("Below stands what follows from the rest, without what is refused above.").classes("quiet")

    def _summary(self) -> None:
        bench = self.frame.bench
        assert bench.now is not None
        record = bench.now.record
        with ui.element("section").classes("part summary"):
            text("Worked out", "h2").classes("sr-only")
            self.chief = _html(numbers.chief(self.frame.chief), "dl").classes("chief")
            speed = f"Worked out at {record.speed_rpm:g} rpm. Each ± covers about 95 %. A number opens its working."
            text(("Invented for demonstration. " if record.invented else "") + speed).classes("quiet")
            self.warned = _html(numbers.warned_in_short(self.frame.warned))

    def _drawings(self) -> None:
        self.bench = ui.element("div").classes("bench").on("bench", self._heard, args=["detail"])
        self.bench.props["data-first"] = json.dumps(self._for_browser(self.frame, whole=True))
        if (beside := side_by_side(self.frame.bench)) is not None:
            (section_mm, bore_mm), (section_down, bore_down) = beside.wide, beside.down
            columns = f"minmax(0,{section_mm:.2f}fr) minmax(0,{bore_mm:.2f}fr)"
            lower = f"{100.0 * (bore_down - section_down) / section_mm:.3f}%"
            self.bench.style(f"--columns:{columns};--lower:{lower}")
            self.bench.classes("in-line")
        self.drawn: dict[str, ui.html] = {}
        self.beside: dict[str, ui.html] = {}
        with self.bench:
            with ui.element("div").classes("unrolled"):
                self._figure("bore")
                self._port_in_hand()
                self._figure("areas")
            with ui.element("div").classes("beside"):
                for name in ("section", "dial", "squish"):
                    self._figure(name)
            _html(controls.crank_bar(self.frame, _FIRST_DEG)).classes("crank").props('role=group aria-label="Crank"')

    def _figure(self, name: str) -> None:
        drawing = self.frame.drawings[name]
        slides = isinstance(drawing, InlineDrawing) and drawing.slides
        with ui.element("figure").classes(f"drawn place-{name}").props(f'data-drawing="{name}"'):
            scroller = ui.element("div").classes("drawn-on" + (" drawn-wide" if slides else ""))
            if slides:
                scroller.props(f'tabindex=0 role=region aria-label="{_CAPTIONS[name]}"')
            with scroller, ui.element("div").classes("paper") as paper:
                if isinstance(drawing, InlineDrawing):
                    paper.style(f"--mm:{drawing.wide_mm:.1f}")
                self.drawn[name] = _html(_svg(drawing))
                if name == "bore":
                    ui.element("div").classes("grip")
            with ui.element("figcaption"):
                text(f"{_CAPTIONS[name]}.", "span")
                text(NOT_TO_SCALE, "span").classes("printed")
            self.beside[name] = _html(numbers.beside(self.frame.beside(name)))

    def _port_in_hand(self) -> None:
        with ui.element("div").classes("place-port"):
            text("The port in hand", "h3")
            if not self.frame.fields:
                text("No port's edges and width are known yet.").classes("quiet")
                return
            _html(controls.port_tabs(self.frame)).classes("port-tabs").props('role=group aria-label="Port in hand"')
            far = f"{self.frame.lengths['coarse']:g} {self.frame.lengths['unit']}"
            note = f"Hold an edge on the drawing, or use the arrow keys on it (Shift: {far}), or type here."
            text(note).classes("quiet")
            _html(controls.port_fields(self.frame)).classes("port-panels")
            with ui.element("div").classes("as-if").props("role=status") as self.as_if:
                self.as_if_words = text("", "p")
                with ui.element("div").classes("row"):
                    button("Put back", partial(guarded, self._put_back), kind="chief")
                    button("It was misread: make this the reading", partial(guarded, self._keep))
                    button("Cut it: put it into the plan", partial(guarded, self._cut))
            self._show_as_if(self.frame)

    def _numbers(self) -> None:
        self.warnings: dict[str, ui.html] = {}
        with ui.element("section").classes("part"):
            text("Every number", "h2")
            with ui.element("div").classes("questions"):
                for one in self.frame.answers:
                    about = [each for each in self.frame.warned if each.question == one.key]
                    self.warnings[one.key] = _html(numbers.answer(one, about)).classes("question")
        if self.frame.agreed:
            with section("Measured twice"):
                self.agreed = _html(numbers.agreements(self.frame.agreed), "ul")
        if self.frame.taken_as:
            with section("Assumed, because nobody measured it"):
                _html(numbers.sentences(self.frame.taken_as), "ul")
        cautions("measure", "compression")

    # --- what the browser says ---------------------------------------------------------------------------------------

    def _heard(self, event: GenericEventArguments) -> None:
        said = event.args["detail"] if isinstance(event.args, dict) else event.args
        what = said.get("what")
        if what == "move":
            moves = self._moved(said)
            if moves is not None:
                self._ask(_Wanted(moves))
        elif what == "set":
            moves = self._moved(said)
            if moves is not None:
                self._keep_moves(moves, said["port"], said["side"])
        elif what == "type":
            self._typed(said["port"], said["side"], str(said["text"]))
        elif what == "see":
            self.seen = tuple(said["names"])  # for the next move; what was let go is drawn whole
        elif what == "open" and said["name"] not in self.opened:
            self.opened.append(said["name"])
            self._tell({"workings": self._workings([said["name"]])})
        elif what == "close" and said["name"] in self.opened:
            self.opened.remove(said["name"])

    def _travel(self, port: str, side: str) -> Travel | None:
        for one in self.frame.grip.get("edges", ()):
            if (one["travel"]["port"], one["travel"]["side"]) == (port, side):
                return Travel(**one["travel"])
        return None

    def _moved(self, said: dict[str, Any]) -> Moves | None:
        travel = self._travel(said["port"], said["side"])
        if travel is None or not isinstance(said.get("mm"), int | float):
            return None
        return moved_by(self._moves, travel.port, travel.side, travel.by_for(float(said["mm"])))

    @property
    def _moves(self) -> Moves:
        """Where the edges stand, those included that are not saved yet: a second value may follow at once."""
        return self.frame.bench.moves if self._under_way is None else self._under_way

    def _typed(self, port: str, side: str, words: str) -> None:
        """A depth, a width or an opening angle that was typed: the edge goes there, or the field says why not."""
        field, bench = f"{port}|{side}", self.frame.bench
        shown = port_named(bench, port)
        try:
            if side == "opens":
                assert shown is not None
                assert bench.now is not None
                angle = read_quantity(words, "deg").value
                more = off_to_open_at(bench.now, shown, angle)
                side = opening_edge(shown)
                travel = self._travel(port, side)
                by = None if more is None or travel is None else travel.by_mm + more
            else:
                value = read_quantity(as_meant(words, "mm", bench.units), "mm").value
                travel = self._travel(port, side)
                by = None if travel is None else travel.way * (value - travel.measured_mm)
        except TypedValueError as refusal:
            self._refuse(field, " ".join(said(refusal)))
            return
        if travel is None or by is None or not travel.low - 1e-9 <= by <= travel.high + 1e-9:
            self._refuse(field, outside(travel, bench.units))
            return
        self._refuse(field, "")
        place = f"as_if.{port}.{'opens' if field.endswith('|opens') else side + '_mm'}"
        moves = moved_by(self._moves, port, travel.side, by)
        self._keep_moves(moves, port, travel.side, ((place, words),))

    def _refuse(self, field: str, why: str) -> None:
        self._tell({"refused": {"field": field, "why": why}})

    def _keep_moves(self, moves: Moves, port: str, side: Side, typed: tuple[tuple[str, str], ...] = ()) -> None:
        """Show what was moved, then save it as one edit; where it cannot be, everything goes back to what is kept."""
        before = self._to_keep.typed if self._to_keep is not None else ()
        self._to_keep = _ToKeep(moves, label_of(port, side, moves.get(port, {}).get(side, 0.0)), (*before, *typed))
        self._under_way = moves
        self._ask(_Wanted(moves))

    def _save(self, made: Frame, one: _ToKeep) -> None:
        if self._under_way is one.moves:
            self._under_way = None
        try:
            if made.bench.refused:
                raise ScribelineError(f"{made.bench.refused}\n    kept: the edge is where it was before")
            self.page.desk.edit(KEY, kept_as(one.moves), one.label)
        except ScribelineError as refusal:
            with self.page.client:
                failure(refusal)
            self._ask(_Wanted())
        if one.typed:  # on the disk, or refused before the builder's eyes: the browser need not keep it
            self._tell({"saved": list(one.typed)})

    # --- what was meant ----------------------------------------------------------------------------------------------

    def _put_back(self) -> None:
        self.page.desk.edit(KEY, None, "ports as measured")

    def _keep(self) -> None:
        bench = self.frame.bench
        assert bench.measured is not None
        readings = list(as_readings(bench.measured.record, bench.moves))
        puts = {f"record.ports.{index}": port for index, port, _ in readings}
        if not self.page.desk.edit_all(puts | {KEY: None}, ", ".join(words for _, _, words in readings)):
            return
        say("The record has these readings now. Undo brings the old ones back.")

    def _cut(self) -> None:
        bench = self.frame.bench
        assert bench.measured is not None
        steps, refused = as_cuts(bench.measured.record, bench.moves)
        if steps:
            path, value = plan_with(self._document.get("plan"), steps)
            made = {(step.at, side) for step in steps for side in get_args(Side) if _is_of(step.do, side)}
            left = {
                port: {side: by for side, by in sides.items() if (port, side) not in made}
                for port, sides in bench.moves.items()
            }
            label = f"cuts from Work out: {', '.join(step.do for step in steps)}"
            if not self.page.desk.edit_all({path: value, KEY: kept_as(left)}, label):
                return
            say(f"{len(steps)} in the plan now. This page shows the ports as measured again.")
        if refused:
            with self.page.client:
                failure("\n".join((*refused, "What to do: put it back, or make it the reading if it was misread.")))

    # --- working out and showing -------------------------------------------------------------------------------------

    def _changed(self, paths: Sequence[str]) -> None:
        if not any(path.split(".")[0] in ("record", KEY) for path in paths):
            return
        shown = moves_of(self._document, self.frame.bench.record) == self.frame.bench.moves
        if shown and all(path.startswith(KEY) for path in paths):
            self._make_sure()  # what was let go here stands on the page already
        else:
            self._ask(_Wanted())

    def _ask(self, wanted: _Wanted) -> None:
        self._wanted = wanted
        self._asked += 1
        if self._task is None or self._task.done():
            self._task = asyncio.get_running_loop().create_task(self._go_on())

    async def _go_on(self) -> None:
        """Work out what is wanted, without new +/-, until nothing newer is."""
        while (wanted := self._wanted) is not None and not self.page.client.is_deleted:
            self._wanted = None
            keep, self._to_keep = self._to_keep, None
            made = await self._work_out(wanted.moves, self.seen if wanted.moves is not None else tuple(DRAWINGS))
            if made is None:
                return
            self._show(made, moving=wanted.moves is not None)
            if keep is not None:
                await gone_out(self.page.client)  # the disk may take its time; who typed need not wait for it
                self._save(made, keep)
                self._show_as_if(made)
            elif wanted.moves is None and self._wanted is None:
                self._make_sure()

    def _make_sure(self) -> None:
        self._sure = asyncio.get_running_loop().create_task(self._work_out_surely(self._asked))

    async def _work_out_surely(self, asked: int) -> None:
        """Once it is quiet, everything again with its own +/-; what is asked for meanwhile comes first."""
        await asyncio.sleep(_QUIET_S)
        if asked != self._asked or self.page.client.is_deleted:
            return
        made = await self._work_out(None, tuple(DRAWINGS), plus_minus=True)
        if made is not None and asked == self._asked and not self.page.client.is_deleted:
            self._show(made, moving=False)

    async def _work_out(
        self, moves: Moves | None, drawings: Collection[str], *, plus_minus: bool = False
    ) -> Frame | None:
        """A frame, made in a thread; None where the server is about to stop."""
        units = self.page.preferences.units
        return await run.io_bound(
            partial(frame, self._document, moves=moves, drawings=drawings, plus_minus=plus_minus, units=units)
        )

    def _show(self, made: Frame, *, moving: bool) -> None:
        if _shape(made) != self.shape:
            with self.page.client:
                ui.navigate.reload()  # another port, or a record that can be worked out at last: other things show
            return
        if made.bench.now is None:
            return
        before, self.frame = self.frame, made
        for name, drawing in made.drawings.items():
            self.drawn[name].set_content(_svg(drawing))
        self._tell(self._for_browser(made, whole=not moving and made.bench.measured is not before.bench.measured))
        if made.warned != before.warned:
            self.warned.set_content(numbers.warned_in_short(made.warned))
            for name, html in self.beside.items():
                html.set_content(numbers.beside(made.beside(name)))
        if made.agreed and made.agreed != before.agreed:
            self.agreed.set_content(numbers.agreements(made.agreed))
        if not moving:
            self._show_as_if(made)
            if self.opened:
                self._tell({"workings": self._workings(self.opened)})

    def _for_browser(self, made: Frame, *, whole: bool) -> dict[str, Any]:
        """What the browser puts in its places: edges, what turns, and the numbers that read otherwise than before."""
        turning = made.turning if whole else {key: made.turning[key] for key in ("areas", "windows", "marks")}
        reads = {one.name: numbers.reads(one) for each in made.answers for _, some in each.numbers for one in some}
        changed = {name: said for name, said in reads.items() if self.told.get(name) != said}
        warned = {
            each.key: numbers.warnings(one for one in made.warned if one.question == each.key) for each in made.answers
        }
        self.told = reads
        told: dict[str, Any] = {
            "lengths": made.lengths, "turning": turning, "grip": made.grip, "fields": made.fields,
            "numbers": changed, "warnings": warned,
            "moved": "; ".join(made.moved) or (made.bench.refused and f"Not possible: {made.bench.refused}"),
        }  # fmt: skip
        return told

    def _workings(self, names: Sequence[str]) -> dict[str, str]:
        def measure(place: str) -> str:
            record = self.frame.bench.record
            return self.page.url("measure", **(measured_at(place, record) if record is not None else {}))

        shown = {name: working_of(self.frame.bench, name) for name in names}
        return {name: numbers.working(one, measure) for name, one in shown.items() if one is not None}

    def _show_as_if(self, made: Frame) -> None:
        if not self.frame.fields:
            return
        words = made.bench.as_if
        self.as_if.set_visibility(bool(words))
        self.as_if_words.set_content(
            f"<b>As if.</b> {escape(words)}. The record is untouched: it still says what was measured. "
            "What did you mean?"
        )

    def _tell(self, told: dict[str, Any]) -> None:
        said = json.dumps(told)
        self.page.client.run_javascript(
            f"window.scribelineBench?scribelineBench.take({said}):(window.benchQueue||=[]).push({said})"
        )


def _shape(made: Frame) -> tuple[Any, ...]:
    """What the page was built for; where it differs the page must be built anew."""
    bench = made.bench
    names = () if bench.now is None else tuple(bench.now.values)
    return names, tuple(made.fields), bench.problems, bench.contradiction


def _svg(drawing: InlineDrawing | str) -> str:
    return f'<p class="quiet">{escape(drawing)}</p>' if isinstance(drawing, str) else drawing.svg


def _html(content: str, tag: str = "div") -> ui.html:
    return ui.html(content, sanitize=False, tag=tag)


def _is_of(operation: str, side: Side) -> bool:
    return {"roof": "roof", "floor": "floor", "width": "widen"}[side] in operation
