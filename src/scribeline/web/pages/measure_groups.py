"""The fields under one heading of Measure. They follow their element of a list, and keep what is half typed in them."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from functools import partial

from nicegui import ui

from scribeline.tasks.measuring_fields import Group, MeasuringField
from scribeline.tasks.measuring_lists import can_be_mirrored
from scribeline.web.pages.measure_entries import Entry, entry
from scribeline.web.shell import StepPage, button, guarded, text, text_of

Key = tuple[str, int, str, str]
OnElement = Callable[[str, int], None]


def key_of(group: Group) -> Key:
    """What makes a heading the same one: its element and the part of that, else its title."""
    return group.list_path, group.position, group.part, "" if group.list_path else group.title


class ShownGroup:
    """A heading with its fields. tools : what can be done with its element, each with its words."""

    def __init__(
        self, page: StepPage, group: Group, chosen: Callable[[Entry], None], tools: Mapping[str, OnElement]
    ) -> None:
        self.group = group
        self.entries: dict[str, Entry] = {}  # by what is left of a field's path behind its element
        self._page, self._chosen = page, chosen
        with ui.element("section").classes("group") as self.element:
            self._title = text(group.title, "h3")
            self._usual = ui.element("div").classes("entries")
            with ui.element("details").classes("seldom") as self._folded:
                text_of("Measured another way", group.title or group.part, "summary")
                self._seldom = ui.element("div").classes("entries")
            if tools and not group.part:
                self._tools(tools)
        self.show(group)

    def _tools(self, tools: Mapping[str, OnElement]) -> None:
        with ui.element("div").classes("row element-tools"):
            for words, do in tools.items():
                button(words, partial(guarded, partial(self._with_element, do)))

    def _with_element(self, do: OnElement) -> None:
        do(self.group.list_path, self.group.position)

    def show(self, group: Group) -> list[Entry]:
        """Show these fields, those that are there already with whatever is typed in them; returns those that went."""
        self.group = group
        self._title.set_text(group.title)
        self._title.set_visibility(bool(group.title))
        wanted = {_behind(group, about): about for about in group.fields}
        gone = [self.entries.pop(name) for name in [*self.entries] if name not in wanted]
        for one in gone:
            one.element.delete()
        name = group.title.removesuffix(f": {group.part}") if group.list_path else ""
        for behind, about in wanted.items():
            if behind in self.entries:
                self.entries[behind].move_to(about, name)
            else:
                self.entries[behind] = self._built(about, name, [*wanted])
        self._folded.set_visibility(bool(self._seldom.default_slot.children))
        return gone

    def _built(self, about: MeasuringField, name: str, order: list[str]) -> Entry:
        """A field where it belongs among those that are there: none of those is touched."""
        folded = about.seldom and self._page.desk.get(about.path) is None
        place = self._seldom if folded else self._usual
        before = set(order[: order.index(_behind(self.group, about))])
        there = [self.entries[one].element for one in before if one in self.entries]
        with place:
            made = entry(self._page, about, name, self._chosen)
        index = sum(one in there for one in place.default_slot.children)
        if index < len(place.default_slot.children) - 1:
            made.element.move(target_index=index)
        return made


def follow(
    place: ui.element, shown: list[ShownGroup], wanted: Iterable[Group], moved: Mapping[str, Mapping[int, int]],
    build: Callable[[Group], ShownGroup],
) -> tuple[list[ShownGroup], list[Entry]]:  # fmt: skip
    """The headings for `wanted`, those that are shown already where they are, and the fields that went.

    moved : for each list, where each of its elements is now; one that is not named is gone
    """
    new = {key_of(group): group for group in wanted}
    kept: dict[Key, ShownGroup] = {}
    gone: list[Entry] = []
    for one in shown:
        list_path, position, *rest = key_of(one.group)
        now = moved.get(list_path, {}).get(position) if list_path else position
        key = (list_path, now, *rest)
        if now is not None and key in new:
            kept[key] = one
            gone += one.show(new[key])
        else:
            gone += one.entries.values()
            one.element.delete()
    for index, (key, group) in enumerate(new.items()):
        if key not in kept:
            with place:
                kept[key] = build(group)
            if index < len(place.default_slot.children) - 1:
                kept[key].element.move(target_index=index)
    return [kept[key] for key in new], gone


def half_typed(entries: Iterable[Entry]) -> Iterator[tuple[str, str, str]]:
    """Path, name and text of each field that holds what nobody has saved."""
    for one in entries:
        if (typed := one.typed) is not None:
            yield one.about.path, f"{one.group}: {one.about.label}" if one.group else one.about.label, typed


def tools_for(list_path: str, copy: OnElement, mirror: OnElement, remove: OnElement) -> dict[str, OnElement]:
    """What can be done with an element of a list."""
    mirrored = {"Copy, mirrored": mirror} if can_be_mirrored(list_path) else {}
    return {"Copy": copy, **mirrored, "Remove": remove}


def _behind(group: Group, about: MeasuringField) -> str:
    return about.path.removeprefix(f"{group.list_path}.{group.position}.") if group.list_path else about.path
