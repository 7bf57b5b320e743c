"""What is wanted and what is at hand: the goal, gaskets and other parts, tools, what stays as it is, limits."""

import functools
from collections.abc import Callable, Iterator
from typing import Any

from nicegui import events, ui

from scribeline.errors import ScribelineError
from scribeline.tasks.notebook import list_builds
from scribeline.tasks.plan_aim import (
    ALSO_WORDS,
    SHEETS_EXAMPLE,
    TOOLS,
    BoundRow,
    GoalTyped,
    also_with,
    bounds_of,
    box_read,
    count_typed,
    goal_parts,
    kept_words,
    limits_with,
    other_parts,
    pipe_of_build,
    sheets_typed,
    tools_at_hand,
    tools_with,
    without_part,
)
from scribeline.tasks.plan_found import GOALS, goal_words, parts_to_keep
from scribeline.units import in_inches
from scribeline.web.fields import Field, Typed, Typing, saved
from scribeline.web.kept import Kept
from scribeline.web.pages.plan.bench import Bench
from scribeline.web.pages.plan.looks import amount_text, file_button, number_words, read_amount
from scribeline.web.pages.plan.pipe import DesignedPipe
from scribeline.web.shell import button, failure, guarded, link, say, text
from scribeline.web.text_input import TextInput

FITS = {"base": "base", "head": "head", "both": "either"}


def build(bench: Bench) -> None:
    """Build this part of the page."""
    for summary, part in (
        (_goal_line, _Goal),
        (_box_line, _Gaskets),
        (_parts_line, _Parts),
        (_tools_line, _Tools),
        (_limits_line, _Limits),
    ):
        with ui.element("details").classes("fold").props(f'data-fold="{part.__name__}"'):
            head = text(summary(bench), "summary")
            part(bench)

        def show(head: Any = head, summary: Any = summary) -> None:
            head.set_text(summary(bench))

        bench.on_kept(show)


def _goal_line(bench: Bench) -> str:
    return f"Goal: {goal_words(bench.kept.plan.wanted.goal)}"


def _box_line(bench: Bench) -> str:
    names = [f"{one.count} x {one.name}" if one.count > 1 else one.name for one in bench.kept.plan.box.gaskets]
    return f"Gaskets at hand: {', '.join(names) or 'none but those fitted'}"


def _parts_line(bench: Bench) -> str:
    return f"Other parts at hand: {', '.join(name for _, _, name in other_parts(bench.kept.plan.box)) or 'none'}"


def _tools_line(bench: Bench) -> str:
    wanted, tools = bench.kept.plan.wanted, tools_at_hand(bench.kept.plan)
    kept = f"; stays as it is: {', '.join(wanted.keep)}" if wanted.keep else ""
    return f"Tools: {', '.join(tools) or 'none'}{kept}"


def _limits_line(bench: Bench) -> str:
    own = len(bench.kept.plan.limits.set)
    return f"Limits: {f'{own} of your own' if own else 'as common practice has them'}"


class _Goal:
    """What should be high: one of four, from where on it is enough, and what must not be given away for it."""

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        parts = goal_parts(bench.kept.plan.wanted.goal, bench.record)
        self._which = ui.radio(GOALS, value=parts.which, on_change=self._changed).props('aria-label="Goal"')
        self._typing: dict[str, Typing] = {}
        with ui.element("div").classes("row"):
            self._from = self._number("first", "from, rev/min", parts.first)
            self._to = self._number("last", "to, rev/min", parts.last)
            self._least = self._number("least", "enough from, " + parts.unit, parts.least)
        text("What must not be given away for it:", "p")
        with ui.element("div").classes("ticks"):
            self._ticks = {word: _tick(words, self._also, word) for word, words in ALSO_WORDS.items()}
        self._tick()
        self._band()
        bench.on_kept(self.update)

    def _number(self, key: str, label: str, value: float | None) -> TextInput:
        made = TextInput(label, value=_digits(value))
        made.props("outlined square stack-label inputmode=decimal autocomplete=off").classes("field")
        made.props["data-path"] = f"plan.wanted.goal.{key}"
        made.on("change", self._changed)
        self._typing[key] = Typing(self.bench.page, made)
        return made

    def update(self) -> None:
        """Follow another device, or undo."""
        parts = goal_parts(self.bench.kept.plan.wanted.goal, self.bench.record)
        self._which.set_value(parts.which)
        for key, one in self._typing.items():
            if not one.under_way:
                one.show(_digits(getattr(parts, key)))
        self._least.props(f'label="enough from, {parts.unit}"')
        self._band()
        self._tick()

    def _tick(self) -> None:
        chosen = kept_words(self.bench.kept.plan.wanted.also)
        for word, one in self._ticks.items():
            one.set_value(word in chosen)

    def _band(self) -> None:
        for field in (self._from, self._to):
            field.set_visibility(self._which.value == "band")

    def _changed(self, _: Any = None) -> None:
        self._band()
        try:
            typed = GoalTyped(self._which.value, self._from.value, self._to.value, self._least.value).typed()
        except ScribelineError as refused:
            failure(refused)
            return
        if typed != (self.bench.kept.plan.wanted.goal or "most") and not self.bench.put(
            "wanted.goal", typed, f"goal: {goal_words(typed)}"
        ):
            return
        parts = goal_parts(self.bench.kept.plan.wanted.goal, self.bench.record)
        for key, one in self._typing.items():
            saved(self.bench.page, f"plan.wanted.goal.{key}", one.text)
            one.show(_digits(getattr(parts, key)))

    def _also(self, word: str, event: events.ValueChangeEventArguments[Any]) -> None:
        after = also_with(self.bench.kept.plan, word, bool(event.value))
        if after != list(kept_words(self.bench.kept.plan.wanted.also)):
            self.bench.put("wanted.also", after, f"kept high: {', '.join(after) or 'nothing else'}")


def _digits(value: float | None) -> str:
    return "" if value is None else f"{value:g}"


def _tick(words: str, do: Callable[..., object], key: str) -> ui.checkbox:
    return ui.checkbox(words, on_change=functools.partial(do, key))


class _Gaskets:
    """The gasket box: a row for each sheet."""

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        self._shape: Any = None
        self._room = ui.element("div")
        with ui.element("div").classes("row"):
            self._typed = TextInput(f"add sheets: {SHEETS_EXAMPLE[bench.page.units]}", draft="plan: sheets").props(
                "outlined square stack-label autocomplete=off"
            )
            self._typed.classes("field wide").on("keydown.enter", lambda: guarded(self._add))
            button("Add to the box", lambda: guarded(self._add))
        self.update()
        bench.on_kept(self.update)

    def update(self) -> None:
        """Show the box as it is."""
        box = self.bench.document.get("box") or {}
        shape = [one.get("fits") for one in box.get("gaskets") or []]
        if shape == self._shape:
            return
        self._shape = shape
        self._room.clear()
        with self._room:
            for place in range(len(shape)):
                self._row(place, shape[place])

    def _row(self, place: int, fits: str | None) -> None:
        at = f"plan.box.gaskets.{place}"
        with ui.element("div").classes("row sheet-row").props(f'role=group aria-label="Sheet {place + 1}"'):
            Field(
                self.bench.page,
                f"{at}.name",
                "name",
                read=lambda typed: Typed(_named(typed), f"gasket {typed.strip()}"),
            )
            where = ui.select(FITS, value=fits if fits in FITS else None, label="fits").props(
                "outlined square behavior=menu"
            )
            where.classes("field narrow").on_value_change(
                lambda event: self.bench.put(f"box.gaskets.{place}.fits", event.value, f"gasket fits {event.value}")
                if event.value != fits else None
            )  # fmt: skip
            for key, label in (("nominal_mm", "thickness"), ("compressed_mm", "when tightened")):
                Field(
                    self.bench.page, f"{at}.{key}", label, read=functools.partial(self._thick, label),
                    show=self._shown, numeric=True,
                )  # fmt: skip
            Field(
                self.bench.page,
                f"{at}.count",
                "how many",
                read=_count,
                show=lambda n: "1" if n is None else str(n),
                numeric=True,
            )
            button("Take out", functools.partial(self._out, place)).props(f'aria-label="Take sheet {place + 1} out"')

    def _shown(self, found: Any) -> str:
        value = found.get("value") if isinstance(found, dict) else found
        return amount_text(self.bench, value, "mm")

    def _thick(self, label: str, typed: str) -> Typed:
        if not typed.strip() and label != "thickness":
            return Typed(None, f"{label}: left out")
        value = read_amount(self.bench, typed, "mm")
        return Typed(value, f"gasket {value:g} mm")

    def _add(self) -> None:
        sheets = sheets_typed(self._typed.value or "", self.bench.page.units)
        there = (self.bench.document.get("box") or {}).get("gaskets") or []
        if self.bench.put("box.gaskets", [*there, *sheets], f"{len(sheets)} sheets into the box"):
            self._typed.set_value("")

    def _out(self, place: int) -> None:
        self.bench.put(f"box.gaskets.{place}", None, "a sheet out of the box")


def _named(typed: str) -> str:
    return " ".join(typed.split())[:60] or "sheet"


def _count(typed: str) -> Typed:
    number = count_typed(typed)
    return Typed(number, f"{number} sheets")


class _Parts:
    """Pipes, sections, reeds, petals, carburettors: from a file of parts, or the pipe of another cylinder."""

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        self._room = ui.element("div")
        with ui.element("div").classes("row"):
            builds = [name for name in _builds(bench) if name != bench.page.build]
            if builds:
                pick = ui.select(builds, label="the pipe of another cylinder").props("outlined square behavior=menu")
                pick.classes("field wide")
                button("Its pipe is at hand", lambda: guarded(lambda: self._pipe(pick.value)))
        file_button("Parts from a file", self._load)
        DesignedPipe(bench)
        self.update()
        bench.on_kept(self.update)

    def update(self) -> None:
        """Show what there is."""
        self._room.clear()
        with self._room:
            for kind, place, name in other_parts(self.bench.kept.plan.box):
                with ui.element("div").classes("shelf-row"):
                    text(f"{kind[:-1].replace('_', ' ')}: {name}", "p")
                    button("Take out", functools.partial(self._out, kind, place, name)).props(
                        f'aria-label="Take out {name}"'
                    )
            if not other_parts(self.bench.kept.plan.box):
                text("Nothing yet. A file lists parts that you have:", "p").classes("quiet")
                link("how to plan the cuts", "/help/howto/plan-the-cuts").classes("button-link")

    def _out(self, kind: str, place: int, name: str) -> None:
        self.bench.put("box", without_part(self.bench.document.get("box"), kind, place), f"out of the box: {name}")

    def _pipe(self, build: str | None) -> None:
        if build:
            box = pipe_of_build(self.bench.document.get("box"), build, self.bench.page.state.notebook)
            self.bench.put("box", box, f"the pipe of {build} is at hand")

    async def _load(self, event: events.UploadEventArguments) -> None:
        try:
            box = box_read(self.bench.document.get("box"), await event.file.read(), event.file.name)
        except ScribelineError as refused:
            failure(refused)
            return
        if self.bench.put("box", box, f"parts from {event.file.name[:60]}"):
            say("The parts of the file are at hand now.")


def _builds(bench: Bench) -> list[str]:
    return [one.build.name for one in list_builds(where=bench.page.state.notebook)]


class _Tools:
    """Tools at hand, and what stays as it is."""

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        text("What everybody has who measures an engine is taken for granted. Of these you have:", "p")
        with ui.element("div").classes("ticks"):
            self._tools = {tool: _tick(tool, self._tool, tool) for tool in TOOLS}
        text("A search leaves as it is:", "p")
        with ui.element("div").classes("ticks"):
            self._parts = {part: _tick(part, self._keep, part) for part in parts_to_keep(bench.record)}
        self.update()
        bench.on_kept(self.update)

    def update(self) -> None:
        """Show what is ticked now."""
        plan = self.bench.kept.plan
        for tool, one in self._tools.items():
            one.set_value(tool in tools_at_hand(plan))
        for part, one in self._parts.items():
            one.set_value(part in plan.wanted.keep)

    def _tool(self, tool: str, event: events.ValueChangeEventArguments[Any]) -> None:
        after = tools_with(self.bench.kept.plan, tool, bool(event.value))
        if after != list(tools_at_hand(self.bench.kept.plan)):
            self.bench.put("wanted.tools", after, f"tools: {', '.join(after) or 'none'}")

    def _keep(self, part: str, event: events.ValueChangeEventArguments[Any]) -> None:
        now = list(self.bench.kept.plan.wanted.keep)
        after = [one for one in now if one != part] + ([part] if event.value else [])
        if after != now:
            self.bench.put("wanted.keep", after, f"{part} stays as it is" if event.value else f"{part} may change")


class _Limits:
    """Every limit with the engine's number, and the builder's own bound for it."""

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        text("Set any of them tighter or looser, or off. What is looser or off is said on every card and sheet.", "p")
        self._kept: Kept[_Key, _Limit] = Kept(ui.element("div"), lambda key: _Limit(bench, self._rows[key]))
        self.update()
        bench.on_kept(self.update)

    def update(self) -> None:
        """Show them as they are; what somebody types a bound into stays."""
        self._rows = {(row.name, *_sides(row)): row for row in bounds_of(self.bench.kept)}
        self._kept.show([*self._rows])
        for key, one in self._kept.shown.items():
            one.show(self._rows[key])


_Key = tuple[str, ...]


def _sides(row: BoundRow) -> Iterator[str]:
    """Which bounds a limit has, or may be given."""
    return (side for side, value in (("low", row.low), ("high", row.high)) if value is not None or side in row.sides)


class _Limit(ui.element):
    """One limit: the engine's number, what is usual, and the bounds of one's own."""

    def __init__(self, bench: Bench, row: BoundRow) -> None:
        super().__init__("div")
        self.bench, self._typing = bench, dict[str, Typing]()
        with self.classes("limit-row"):
            self._now = text("", "p").classes("strong")
            self._usual = text("", "p").classes("quiet")
            with ui.element("div").classes("row"):
                for side in _sides(row):
                    self._typing[side] = Typing(bench.page, self._field(row, side))
                self._off = ui.checkbox("off", value=row.off).props(f'aria-label="{row.label}: off"')
                self._off.on_value_change(self._switched)
        self.show(row)

    def _field(self, row: BoundRow, side: str) -> TextInput:
        words = "not below" if side == "low" else "not above"
        made = TextInput(words, value=self._words(row, side))
        made.props("outlined square stack-label inputmode=decimal autocomplete=off").classes("field narrow")
        made.props(f'aria-label="{row.label}: {words}" data-path="plan.limits.{row.name}.{side}"')
        made.on("change", functools.partial(self._bound, side))
        return made

    def _words(self, row: BoundRow, side: str) -> str:
        return amount_text(self.bench, getattr(row, side), row.unit)

    def show(self, row: BoundRow) -> None:
        """Show it as it is now, but where somebody is typing."""
        self._row = row
        now = number_words(self.bench, row.now, row.unit) if row.now is not None else "not known"
        self._now.set_text(f"{row.label}: {now}")
        self._usual.set_text(f"{in_inches(row.usual, self.bench.page.units)} [{row.source}]")
        self._off.set_value(row.off)
        for side, one in self._typing.items():
            if not one.under_way:
                one.show(self._words(row, side))

    def _bound(self, side: str, _: Any = None) -> None:
        row, typing = self._row, self._typing[side]
        typed = typing.text
        if typing.under_way:
            try:
                value = read_amount(self.bench, typed, row.unit) if typed.strip() else None
            except ScribelineError as refused:
                failure(refused)
                return
            table = limits_with(self.bench.document.get("limits"), row.name, **{side: value})
            if not self.bench.put("limits", table, f"limit on {row.label}"):
                return
        saved(self.bench.page, f"plan.limits.{row.name}.{side}", typed)
        typing.show(self._words(self._row, side))

    def _switched(self, event: events.ValueChangeEventArguments[Any]) -> None:
        row = self._row
        if event.value != row.off:
            words = "off" if event.value else "on again"
            table = limits_with(self.bench.document.get("limits"), row.name, off=bool(event.value))
            self.bench.put("limits", table, f"{row.label}: {words}")
