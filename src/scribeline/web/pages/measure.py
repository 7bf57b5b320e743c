"""Measure: station by station, with a drawing that lights what is being measured; all is saved as it is typed."""

import asyncio
import json
from collections.abc import Sequence
from dataclasses import replace
from functools import partial
from html import escape
from typing import Any

from nicegui import ui

from scribeline.errors import JobError
from scribeline.tasks.measuring_fields import Group, MeasuringField, Station, fields_of_measuring
from scribeline.tasks.measuring_lists import copied_element, moved_to, new_element
from scribeline.tasks.measuring_pictures import NO_PICTURE, measuring_picture
from scribeline.tasks.measuring_state import Standing, standing_job, standing_of
from scribeline.tasks.measuring_stations import STATION_PLANS
from scribeline.tasks.measuring_values import cleared_at
from scribeline.units import with_inches
from scribeline.web.drawing import DrawingOnPage
from scribeline.web.kept import Kept
from scribeline.web.pages.measure_entries import Entry, Said
from scribeline.web.pages.measure_groups import ShownGroup, follow, half_typed, tools_for
from scribeline.web.pages.measure_hand import Hand
from scribeline.web.pages.measure_keeping import Keeping
from scribeline.web.shell import StepPage, Words, button, cautions, guarded, link, text

PORTS = "record.ports"


def build(page: StepPage) -> None:
    """Build the page."""
    ui.add_head_html('<link rel="stylesheet" href="/static/measure.css">')
    ui.add_head_html('<script type="module" src="/static/measure.js"></script>')
    Bench(page)


class Bench:
    """The page: stations, the drawing, the fields of one station, and what is in the hand."""

    def __init__(self, page: StepPage) -> None:
        self._page = page
        keys = [plan.key for plan in STATION_PLANS]
        self._key = page.query.get("at", "") if page.query.get("at") in keys else keys[0]
        self._port = int(page.query["port"]) if page.query.get("port", "").isdigit() else 0
        self._entries: dict[str, Entry] = {}
        self._marks: dict[str, tuple[ui.button, Words]] = {}
        self._standing: Standing | None = None
        self._judging: asyncio.Task[None] | None = None
        self._judge_again = False
        self._picture = NO_PICTURE
        self._keeping = Keeping(page, self.go_to)
        self._stations = ui.element("nav").classes("stations").props('aria-label="What is measured, in this order"')
        cautions("measure", folded="crank" in self._record)
        with ui.element("div").classes("bench"):
            with ui.element("div").classes("bench-side"):
                self._drawing = DrawingOnPage(self._draw)
                self._how_words = ui.html("", sanitize=False, tag="p").classes("how-words").props("aria-live=polite")
                self._hand = Hand(page)
                self._how = ui.element("div").classes("how")
            self._fields = ui.element("div").classes("bench-fields")
        self._signature: Any = None
        self._taken_up: Entry | None = None
        self._show_station()
        page.desk.on_change(self._changed)
        page.on_units = self._show_station
        page.client.on_delete(self._stop)
        self._judge()
        if asked := page.query.get("field"):
            self.go_to(asked)

    # --- what is shown ------------------------------------------------------------------------------------------

    @property
    def _record(self) -> dict[str, Any]:
        found = self._page.desk.get("record", {})
        return found if isinstance(found, dict) else {}

    def _show_station(self) -> None:
        """Build the fields of the station anew."""
        station = fields_of_measuring(self._record, self._key)[0]
        self._port = min(self._port, max(0, len(self._record.get("ports", ())) - 1))
        self._signature = self._looks_like(station)
        self._entries, self._taken_up = {}, None
        self._hand.show(None)
        self._fields.clear()
        self._show_stations()
        with self._fields:
            with ui.element("div").classes("station-head"):
                text(station.title, "h2").props('tabindex="-1"')
                text(station.plan.about).classes("quiet")
            self._lost = ui.element("div")
            if station.key == "ports":
                self._port_chooser()
            with ui.element("div") as self._place:
                self._groups = [self._group(group) for group in self._shown_groups(station)]
            self._adding = Kept(ui.element("div"), self._add_button)
            self._show_lists(station)
            if station.key == STATION_PLANS[0].key:
                with ui.element("section").classes("group"):
                    text("The whole record", "h3")
                    self._keeping.files()
            self._onwards()
        self._show_how(station)
        first = next(iter(self._entries.values()), None)
        self._light(first.about if first else None, station)
        self._say()

    def _shown_groups(self, station: Station) -> Sequence[Group]:
        """Of the ports, one at a time."""
        return [one for one in station.groups if one.list_path != PORTS or one.position == self._port]

    def _looks_like(self, station: Station) -> Any:
        """What the fields on the page depend on; while it stays the same they are only filled in anew."""
        return [(one.title, [about.path for about in one.fields]) for one in self._shown_groups(station)], [
            one.get("name") for one in self._record.get("ports", ()) if isinstance(one, dict)
        ]

    def _show_stations(self) -> None:
        """The stations with how much of each is filled in; built once, then only what changes is changed."""
        for station in fields_of_measuring(self._record):
            about = [one for one in station.fields() if not one.seldom or self._page.desk.get(one.path) is not None]
            filled = sum(self._page.desk.get(one.path) is not None for one in about)
            words = f"{filled} of {len(about)}" if about else "none"
            if station.key not in self._marks:
                with self._stations, button(station.title, partial(self._go, station.key), kind="station") as made:
                    made.props(f'data-station="{station.key}"')
                    self._marks[station.key] = made, text("", "span").classes("station-count")
            made, count = self._marks[station.key]
            if count.content != words:
                count.set_text(words)
            if station.key == self._key:
                made.props('aria-current="true"')
            else:
                made.props(remove="aria-current")

    def _group(self, group: Group) -> ShownGroup:
        mirror = partial(self._copy, mirrored=True)
        tools = tools_for(group.list_path, self._copy, mirror, self._remove) if group.list_path else {}
        return ShownGroup(self._page, group, self._chosen, tools)

    def _show_lists(self, station: Station) -> None:
        """What depends on which elements there are, around the fields."""
        self._elements = self._listed(station)
        self._entries = {one.about.path: one for group in self._groups for one in group.entries.values()}
        self._show_ports()
        self._show_adding(station)

    def _listed(self, station: Station) -> dict[str, list[Any]]:
        """The elements of each list that grows here."""
        found = {one.path: self._page.desk.get(one.path) for one in station.lists}
        return {path: elements if isinstance(elements, list) else [] for path, elements in found.items()}

    def _port_chooser(self) -> None:
        with ui.element("p"):
            link("Ports from a photo of a rubbing", self._page.url("measure/rubbing"))
            text(": their outlines are found on it, and you correct them.", "span")
        self._no_port = text("No port yet. Add the first one: most begin with the exhaust.").classes("quiet")
        row = ui.element("div").classes("choice-row ports").props('role=group aria-label="Which port"')
        self._ports: Kept[int, ui.button] = Kept(row, lambda position: button("", partial(self._go, "ports", position)))

    def _show_ports(self) -> None:
        """Which ports there are, and which of them is shown."""
        if PORTS not in self._elements:  # another station
            return
        names = [one.get("name") for one in self._elements[PORTS] if isinstance(one, dict)]
        self._no_port.set_visibility(not names)
        self._ports.place.set_visibility(bool(names))
        self._ports.show(range(len(names)))
        for position, made in self._ports.shown.items():
            made.set_text(str(names[position] or f"port {position + 1}"))
            made.classes("choice-button").props(f"aria-pressed={'true' if position == self._port else 'false'}")

    def _show_adding(self, station: Station) -> None:
        """A button for each list that grows."""
        words = {one.path: f"Add {'another' if one.count else 'a'} {one.label}" for one in station.lists}
        self._adding.show([*words])
        for path, made in self._adding.shown.items():
            made.set_text(words[path])

    def _add_button(self, path: str) -> ui.button:
        return button("", partial(guarded, partial(self._add, path))).classes("adding")

    def _onwards(self) -> None:
        keys = [plan.key for plan in STATION_PLANS]
        place = keys.index(self._key)
        with ui.element("div").classes("row onwards"):
            if place:
                button(f"Back: {STATION_PLANS[place - 1].title}", partial(self._go, keys[place - 1]))
            if place + 1 < len(keys):
                button(f"Next: {STATION_PLANS[place + 1].title}", partial(self._go, keys[place + 1]), kind="chief")
            else:
                link("Next: Work out", self._page.url("work-out"))

    # --- the drawing --------------------------------------------------------------------------------------------

    def _draw(self) -> Any:
        if self._picture == NO_PICTURE:
            return "Nothing is measured on the engine here."
        return measuring_picture(self._picture)

    def _light(self, about: MeasuringField | None, station: Station | None = None) -> None:
        """Light what a field is about; where it has no drawing, keep the last one."""
        if about is not None and about.picture != NO_PICTURE:
            self._picture = about.picture
        elif station is not None:
            how = (station.plan.pictures[0], "") if station.plan.pictures else NO_PICTURE
            self._picture = station.plan.shows if station.plan.shows != NO_PICTURE else how
        self._drawing.redraw()

    def _show_how(self, station: Station) -> None:
        self._how.clear()
        self._how_words.set_content("")
        with self._how:
            if station.plan.pictures:
                with ui.element("details").classes("how-more"):
                    text("With the instrument in place", "summary")
                    for name in station.plan.pictures:
                        DrawingOnPage(partial(measuring_picture, (name, "")))
            if station.plan.howto:
                with ui.element("p").classes("how-link"):
                    link(f"Step by step: {station.title.lower()}", f"/help/howto/{station.plan.howto}")

    def _chosen(self, chosen: Entry) -> None:
        """A field got the focus."""
        self._light(chosen.about)
        about = chosen.about
        accepted = f" Accepted: {about.accepted}." if about.kind == "measured" else ""
        how = about.how[:1].upper() + about.how[1:]
        said = with_inches(f"{how}.{accepted}", self._page.units)
        self._how_words.set_content(f"<b>{escape(about.label)}</b>: {escape(said)}" if how else "")
        self._hand.show(chosen)
        self._taken_up = chosen

    # --- what changes -------------------------------------------------------------------------------------------

    def go_to(self, path: str) -> None:
        """Show the station of a field, and put the focus there."""
        for station in fields_of_measuring(self._record):
            for group in station.groups:
                for about in group.fields:
                    if about.path == path or about.path.startswith(f"{path}."):
                        self._go(station.key, group.position if group.list_path == PORTS else None)
                        self._page.client.run_javascript(f"scribelineMeasure.focus({json.dumps(about.path)})")
                        return

    def _go(self, key: str, port: int | None = None) -> None:
        there = key == self._key and port in (None, self._port)  # pressed where one is: what is being typed stays
        self._key = key
        if port is not None:
            self._port = port
        if not there:
            self._show_station()
        self._page.client.run_javascript(f"scribelineMeasure.arrived({json.dumps(key)}, {self._address})")

    @property
    def _address(self) -> str:
        """Where this station and port are found again, as the browser's scripts write it."""
        port = {"port": str(self._port)} if self._key == "ports" else {}
        return json.dumps(self._page.url("measure", at=self._key, **port))

    def _add(self, path: str) -> None:
        elements = self._page.desk.get(path) or []
        label = f"one more: {path.rpartition('.')[2]}"
        if self._page.desk.edit(f"{path}.{len(elements)}", new_element(path, elements), label) and path == PORTS:
            self._go("ports", len(elements))

    def _copy(self, path: str, position: int, *, mirrored: bool = False) -> None:
        elements = self._page.desk.get(path) or []
        made = copied_element(elements, position, mirrored=mirrored)
        if self._page.desk.edit(f"{path}.{len(elements)}", made, f"copied {made.get('name', '')}") and path == PORTS:
            self._go("ports", len(elements))

    def _remove(self, path: str, position: int) -> None:
        elements = self._page.desk.get(path) or []
        name = elements[position].get("name", "") if isinstance(elements[position], dict) else ""
        last = len(elements) == 1
        place = cleared_at(self._record, path) if last else f"{path}.{position}"
        self._page.desk.edit(place, None, f"removed {name or path.rpartition('.')[2]}")

    def _changed(self, paths: Sequence[str]) -> None:
        """Somebody edited: fill in anew, and where there are other fields now, add those and take away what is gone."""
        with self._fields:
            station = fields_of_measuring(self._record, self._key)[0]
            if self._looks_like(station) != self._signature:
                self._follow(station)
            for one in self._entries.values():
                one.refresh()
            self._hand.show(self._taken_up)
            self._show_stations()
        self._judge()

    def _follow(self, station: Station) -> None:
        """Show other fields without touching those that stay: somebody may be typing in one of them."""
        before = {id(one): path for path, one in self._entries.items()}
        now = self._listed(station)
        moved = {path: moved_to(self._elements.get(path, []), elements) for path, elements in now.items()}
        self._port = moved.get(PORTS, {}).get(self._port, min(self._port, max(0, len(now.get(PORTS, [])) - 1)))
        self._signature = self._looks_like(station)
        self._groups, gone = follow(self._place, self._groups, self._shown_groups(station), moved, self._group)
        self._show_lists(station)
        self._tell_lost(gone)
        if self._taken_up is not None and self._taken_up.about.path not in self._entries:
            self._taken_up = None
        paths = [[before[id(one)], path] for path, one in self._entries.items() if before.get(id(one), path) != path]
        self._page.client.run_javascript(
            f"scribeline.moved({json.dumps(paths)}); history.replaceState(null, '', {self._address})"
        )
        self._say()

    def _tell_lost(self, gone: Sequence[Entry]) -> None:
        """What was being typed in fields that another device took away: it is not saved, but it can be read."""
        lost = list(half_typed(gone))
        if not lost:
            return
        with self._lost, ui.element("section").classes("part warning").props("role=alert") as told:
            text("Taken away on another device while you were typing", "h3")
            for _, name, typed in lost:
                text(f"{name}: {typed}")
            text("It is not saved. Undo brings the fields back; then type it again.")
            button("Put it away", partial(self._put_away, told, [path for path, _, _ in lost]))

    def _put_away(self, told: ui.element, paths: Sequence[str]) -> None:
        told.delete()
        self._page.client.run_javascript(f"{json.dumps(paths)}.forEach((path) => scribeline.saved(path))")

    # --- judging, in the background -----------------------------------------------------------------------------

    def _judge(self) -> None:
        """Judge the record in hand: at once, and what must be worked out for it in a worker, again after each edit."""
        before = self._standing
        found = standing_of(self._record, working_out=False)
        if before is not None:  # what was worked out before stays on the page until it is worked out anew
            found = replace(found, disagreements=before.disagreements, other_ways=before.other_ways)
        self._show_standing(found)
        if self._judging is not None and not self._judging.done():
            self._judge_again = True
            return
        self._judging = asyncio.get_running_loop().create_task(self._judged())

    async def _judged(self) -> None:
        while True:
            self._judge_again = False
            record = self._page.desk.get("record", {})
            job = self._page.state.workers.start(standing_job, record, what="Looking at the record", quick=True)
            try:
                standing: Standing = await job.outcome()
            except JobError as broken:
                if self._judge_again:
                    continue
                self._keeping.cannot_say(str(broken))
                return
            if not self._judge_again:  # else it is about a record that is no longer the one in hand
                self._show_standing(standing)
                return

    def _show_standing(self, standing: Standing) -> None:
        self._standing = standing
        with self._fields:
            self._keeping.show(standing)
            self._say()

    def _say(self) -> None:
        """Put what was found at the fields that it is about."""
        if self._standing is None:
            return
        said: dict[str, Said] = {path: Said() for path in self._entries}
        for refused in self._standing.refused:
            for path in said:
                if path == refused.path or (refused.path.startswith(f"{path}.")):
                    said[path].refused.append(refused.words)
        for differ in self._standing.disagreements:
            for path in differ.paths:
                if path in said:
                    said[path].disagrees.append(differ.words)
        for way in self._standing.other_ways:
            if way.path in said:
                said[way.path].follows = way.words(self._page.preferences.units)
        for missing in self._standing.missing:
            if missing.path in said:
                said[missing.path].missing = True
        for path, one in self._entries.items():
            one.say(said[path])

    def _stop(self) -> None:
        if self._judging is not None:
            self._judging.cancel()
