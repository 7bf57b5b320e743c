"""The operations of the plan as cards in the order they are done, and what may be added, by the groups of the job."""

import functools
from html import escape
from typing import TYPE_CHECKING, Any

from nicegui import events, ui

from scribeline.tasks.plan_adding import (
    Slider,
    amount_name,
    amount_question,
    amount_unit,
    beginning,
    detail_slider,
    groups_of,
    in_whole,
    range_words,
    slider_of,
)
from scribeline.tasks.plan_aim import limit_label
from scribeline.tasks.plan_drawings import operation_picture
from scribeline.tasks.plan_in_hand import StepInHand
from scribeline.tasks.plan_quick import undo_words
from scribeline.units import in_inches, unit_of
from scribeline.web.drawing import DrawingOnPage
from scribeline.web.fields import Field, Typed
from scribeline.web.pages.plan.bench import Bench
from scribeline.web.pages.plan.looks import (
    Html,
    amount_text,
    change_words,
    fold,
    number_words,
    paragraphs,
    problem,
    read_amount,
    table,
    warning,
)
from scribeline.web.shell import button, in_units_here, say, text

if TYPE_CHECKING:
    from scribeline.plan.description import Amount


def build(bench: Bench) -> None:
    """Build this part of the page."""
    holder = ui.element("ol").classes("cards")
    cards = _Cards(bench, holder)
    bench.on_kept(cards.update)
    bench.on_look(cards.glance)
    with fold("Add an operation", opened=not bench.steps) as adding:
        adding.classes("adding")
        shelf = _Shelf(bench)
        bench.on_kept(shelf.update)


class _Cards:
    """One card for each step; built anew only where steps come, go, or are done elsewhere."""

    def __init__(self, bench: Bench, holder: ui.element) -> None:
        self.bench, self.holder = bench, holder
        self._cards: list[_Card] = []
        self._shape: Any = None
        self.update()

    def update(self) -> None:
        steps = self.bench.now.steps
        shape = [(s.place, s.number, s.table.get("do"), s.targets, s.choices, s.amount is None) for s in steps]
        if shape == self._shape:
            for card, step in zip(self._cards, steps, strict=True):
                card.update(step)
            return
        self._shape = shape
        self.holder.clear()
        with self.holder:
            self._cards = [_Card(self.bench, step) for step in steps]
            if not steps:
                text("No operation yet. Add one below, take a gasket stack above, or let it search.", "li")

    def glance(self) -> None:
        """Follow a slider that is not let go of yet; what comes or goes waits for `update`."""
        by_place = {step.place: step for step in self.bench.now.steps}
        for card in self._cards:
            step = by_place.get(card.step.place)
            if step is not None and step.table.get("do") == card.step.table.get("do"):
                card.glance(step)


class _Card:
    """One step of the plan."""

    def __init__(self, bench: Bench, step: StepInHand) -> None:
        self.bench, self.step = bench, step
        self._at = f"steps.{step.place}"
        name = str(step.table.get("do", "step"))
        with ui.element("li").classes("operation").props(f'id="operation-{step.place}"'):
            with ui.element("div").classes("operation-head"):
                text(str(step.number), "span").classes("operation-number").props('aria-hidden="true"')
                self._title = text("", "h3")
                button("Take away", self._take_away).props(f'aria-label="Take away: {name}"')
            self._why = Html(classes="quiet")
            if step.operation is not None:
                text(in_units_here(step.what), "p")
                self._choose_where()
                self._amounts = self._choose_how_much()
            else:
                self._amounts = []
            self._moves = Html(classes="moves")
            self._wrong = Html(classes="refused")
            self._instead = ui.element("div").classes("row")
            self._limits = Html()
            if step.operation is not None:
                self._details()
        self.update(step)

    def update(self, step: StepInHand) -> None:
        """Show the step as it is now."""
        self.step = step
        self._title.set_text(in_inches(step.says[0].upper() + step.says[1:], self.bench.page.units))
        early = f"Written as number {step.place + 1}; done as number {step.number}: {step.why_here}."
        self._why.show(paragraphs([early]) if step.why_here else "")
        self.glance(step)
        self._instead.clear()
        with self._instead:
            for key in step.alternatives:
                button(f"Instead: {key}", functools.partial(self._do_instead, key))
        self._limits.show("".join(map(warning, step.new_limits())))
        for one in self._amounts:
            one.update(step)
        if self._moved is not None:
            self._show_moved()

    def glance(self, step: StepInHand) -> None:
        """Show what follows a slider at once: what the step moves, and why it cannot be done."""
        self._wrong.show("".join(map(problem, step.problems)))
        moved = [
            f"{one.label} <strong>{escape(number_words(self.bench, one.before, one.unit))} to "
            f"{escape(number_words(self.bench, one.after, one.unit))}</strong>"
            for one in step.headlines()
        ]
        nothing = "Moves none of the numbers on top." if step.done else ""
        self._moves.show(f"<p>{'; '.join(moved)}</p>" if moved else f'<p class="quiet">{nothing}</p>')

    # --- what can be set

    def _choose_where(self) -> None:
        step, name = self.step, str(self.step.table.get("do"))
        with ui.element("div").classes("row"):
            if len(step.targets) > 1:
                where = ui.select(
                    list(step.targets),
                    value=step.table.get("at") if step.table.get("at") in step.targets else None,
                    label="where",
                )
                where.props("outlined square behavior=menu").classes("field")
                where.on_value_change(lambda e: self._set("at", e.value, f"{name} at {e.value}"))
            if step.choices:
                chosen = step.table.get("choice")
                what = ui.select(
                    list(step.choices), value=chosen if chosen in step.choices else None, label="what is fitted"
                )
                what.props("outlined square behavior=menu").classes("field wide")
                what.on_value_change(lambda e: self._set("choice", e.value, f"{name}: {e.value}"))

    def _choose_how_much(self) -> "list[_Amount]":
        step = self.step
        assert step.operation is not None
        made = []
        if step.amount is not None:
            made.append(_Amount(self.bench, self._at, step, step.amount, chief=True))
        if step.operation.details:
            with ui.element("div").classes("details-of-step"):
                made += [_Amount(self.bench, self._at, step, one, chief=False) for one in step.operation.details]
        return made

    def _set(self, key: str, value: Any, label: str) -> None:
        if value != self.step.table.get(key):
            self.bench.put(f"{self._at}.{key}", value, label)

    def _take_away(self) -> None:
        if self.bench.put(self._at, None, f"taken away: {self.step.says}"):
            say(f"Taken away: {self._says}. Undo brings it back.")

    def _do_instead(self, key: str) -> None:
        self.bench.put(self._at, beginning(self.step.before.record, self.bench.now.plan.box, key), f"{key} instead")

    # --- what there is to know

    def _details(self) -> None:
        self._moved: Html | None = None
        do = str(self.step.table.get("do"))
        how = "How it is done, what else moves, can it be undone?"
        with fold(how, name=f"how {self.step.place}", of=do) as folded:
            room = ui.element("div")
        built = False

        def opened(event: events.GenericEventArguments) -> None:
            nonlocal built
            if not built:
                built = True
                with room:
                    self._tell()

        folded.on("toggle", opened)

    def _tell(self) -> None:
        operation = self.step.operation
        assert operation is not None
        DrawingOnPage(lambda: operation_picture(operation.key, self.step.place))
        facts = [
            ("Needs", ", ".join(operation.tools) or "nothing but care"),
            ("Skill", operation.skill or "careful beginner"),
            ("Can it be undone?", undo_words(operation.undo, reversible=operation.reversible)),
            ("Where metal would have to come back", operation.instead),
            ("Limits it must respect", ", ".join(limit_label(self.bench.now, name) for name in operation.limits)),
        ]
        Html("dl", "facts").show("".join(f"<dt>{a}</dt><dd>{paragraphs([b], 'span')}</dd>" for a, b in facts if b))
        if operation.caution:
            Html(classes="warning certain").show(paragraphs([operation.caution]))
        if operation.instructions:
            text("Step by step", "h4")
            items = [
                one.do + (f" Stop and measure: {one.measure}." if one.measure else "") for one in operation.instructions
            ]
            Html("ol").show(paragraphs(items, "li"))
        text("What else moves because of it", "h4")
        self._moved = Html()
        self._show_moved()

    def _show_moved(self) -> None:
        assert self._moved is not None
        rows = [
            [one.label, number_words(self.bench, one.before, one.unit), number_words(self.bench, one.after, one.unit),
             change_words(self.bench, one.by, one.unit)]
            for one in self.step.moved()
        ]  # fmt: skip
        words = table(["", "before", "after", "by"], rows, f"Moved by: {self._says}") if rows else ""
        self._moved.show(words or '<p class="quiet">Nothing, at this amount.</p>')

    @property
    def _says(self) -> str:
        return in_inches(self.step.says, self.bench.page.units)

    _moved: Html | None = None


class _Slider(ui.slider):
    """Where it stands is its person's: the answer to one key must not move it back before the next one is let go."""

    LOOPBACK = False


class _Amount:
    """A number of a step: a slider with a button on either side, and a field; all three say the same."""

    def __init__(self, bench: Bench, at: str, step: StepInHand, amount: "Amount", *, chief: bool) -> None:
        self.bench, self.amount, self.key = bench, amount, amount.key
        self._path = f"{at}.{amount.key}"
        self._step = step
        value = self._value(step)
        self._slider = self._slider_of(step, value)
        name = amount_name(str(step.table.get("do")), amount, bench.page.units)
        with ui.element("div").classes("amount" if chief else "amount amount-detail"):
            what = amount_question(amount)  # the field says in what
            text(what[0].upper() + what[1:], "p").classes("amount-what")
            with ui.element("div").classes("amount-row"):
                s = self._slider
                button("\N{MINUS SIGN}", functools.partial(self._by, -1)).props(f'aria-label="less: {name}"').classes(
                    "stepper"
                )
                self._ui = _Slider(min=s.low, max=s.high, step=s.step, value=value if value is not None else s.low)
                spoken, per = amount_unit(amount, bench.page.units)
                self._ui.props(f'aria-label="{name}" data-unit="{spoken}" data-per={per}').classes("slider")
                self._ui.on_value_change(self._dragged)
                self._ui.on("change", self._released)
                button("+", functools.partial(self._by, 1)).props(f'aria-label="more: {name}"').classes("stepper")
                unit = {"ratio": "", "mm": unit_of(bench.page.units)}.get(amount.unit, amount.unit)
                Field(
                    bench.page,
                    f"plan.{self._path}",
                    ", ".join(filter(None, (amount.key.rpartition("_")[0].replace("_", " "), unit))),
                    read=self._read,
                    show=lambda found: amount_text(bench, found, amount.unit),
                    numeric=True,
                ).input.props(f'aria-label="{name}"').classes("amount-field")
            self._range = text("", "p").classes("quiet amount-range")
        self.update(step)

    def update(self, step: StepInHand) -> None:
        """Follow the step, and the range it has where it now stands."""
        self._step = step
        if self.key == (step.amount.key if step.amount else ""):
            assert step.amount is not None
            self.amount = step.amount
        value = self._value(step)
        s = self._slider = self._slider_of(step, value)
        ends = {"min": s.low, "max": s.high, "step": s.step}  # as numbers: written as text they would be texts
        if any(self._ui.props.get(key) != end for key, end in ends.items()):
            self._ui.props.update(ends)
            self._ui.update()
        if value is not None and self._ui.value != value:
            self._ui.set_value(value)
        self._range.set_text(range_words(s, self.amount.accepted, self.bench.page.units))

    def _slider_of(self, step: StepInHand, value: float | None) -> Slider:
        assert step.operation is not None
        chief = step.amount is not None and self.amount.key == step.amount.key
        made = slider_of(step.operation, self.amount, value) if chief else detail_slider(self.amount)
        return in_whole(made, self.bench.page.units)

    def _value(self, step: StepInHand) -> float | None:
        found = step.table.get(self.key, self.amount.usual)
        return float(found) if isinstance(found, int | float) and not isinstance(found, bool) else None

    def _label(self, value: float) -> str:
        unit = "" if self.amount.unit == "ratio" else f" {self.amount.unit}"
        return f"{self._step.table.get('do')} {value:g}{unit}"

    def _read(self, typed: str) -> Typed:
        if not typed.strip() and not self.amount.needed:
            return Typed(None, f"{self._step.table.get('do')}: {self.key} left out")
        value = read_amount(self.bench, typed, self.amount.unit)
        return Typed(value, self._label(value))

    def _dragged(self, event: events.ValueChangeEventArguments[Any]) -> None:
        if event.value is not None and event.value != self._value(self._step):
            self.bench.look(self._path, float(event.value))

    def _released(self, event: events.GenericEventArguments) -> None:
        if isinstance(event.args, int | float):
            self._put(float(event.args))

    def _by(self, way: int) -> None:
        s, value = self._slider, self._value(self._step)
        there = round((s.low if value is None else value) + way * s.step, 6)
        self._put(min(max(there, s.least), s.most))

    def _put(self, value: float) -> None:
        value = round(value, 6)
        if value != self._value(self._step):
            self.bench.put(self._path, value, self._label(value))


class _Shelf:
    """What may be added, by the groups of the job."""

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        self._shown: Any = None
        self._room = ui.element("div")
        self.update()

    def update(self) -> None:
        """Show what can be done with what is at hand now."""
        groups = groups_of(self.bench.record, self.bench.now.plan.box)
        if groups == self._shown:
            return
        self._shown = groups
        self._room.clear()
        with self._room:
            for group in groups:
                with fold(f"{group.words}: {sum(bool(one.targets) for one in group.operations)} possible here"):
                    for one in group.operations:
                        with ui.element("div").classes("shelf-row"):
                            with ui.element("div"):
                                text(one.operation.key[0].upper() + one.operation.key[1:], "p").classes("strong")
                                words = one.operation.what if one.targets else one.why_not
                                text(words[0].upper() + words[1:] + ".", "p").classes("quiet")
                            add = button("Add", functools.partial(self._add, one.operation.key))
                            add.props(f'aria-label="Add: {one.operation.key}"').set_enabled(bool(one.targets))

    def _add(self, key: str) -> None:
        new = beginning(self.bench.record, self.bench.now.plan.box, key)
        if self.bench.put(f"steps.{len(self.bench.steps)}", new, f"added: {key}"):
            say(
                f"Added: {key}. It changes nothing until you move its slider."
                if "choice" not in new
                else f"Added: {key}."
            )
