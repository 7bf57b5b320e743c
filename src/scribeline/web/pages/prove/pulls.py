"""Recordings and their pulls: found by the rule, moved, joined, left out and put back by hand, with the reason kept."""

import asyncio
from functools import partial
from typing import Any

from nicegui import app as pages_app
from nicegui import events, ui

from scribeline.errors import ScribelineError
from scribeline.tasks.trial_spectrum import Heard, keep_picture, kept_picture, picture_key, sound_picture
from scribeline.tasks.trial_views import PullView, RecordingView, recordings_of, speed_line
from scribeline.tasks.trials import PullChange, content_of, edit_pulls, join_pulls
from scribeline.web.fields import saved
from scribeline.web.pages.prove.anew import read_anew
from scribeline.web.pages.prove.bring import once
from scribeline.web.pages.prove.open_trial import OpenTrial, field
from scribeline.web.pages.prove.trace import listed, sound, trace
from scribeline.web.shell import button, said, text
from scribeline.web.text_input import TextInput
from scribeline.web.uploads import KINDS

AROUND_S = 6.0
REASONS = ("rider shut the throttle", "brakes dragged", "wrong gear", "somebody was in the way")
MOVED, AS_FOUND = "ends set by eye on the trace", "as it was found after all"


def recordings(trial: OpenTrial) -> None:
    """Every recording of the trial, and the one at hand with its pulls."""
    _Recordings(trial)


class _Recordings:
    """The list, and which recording and pull are at hand."""

    def __init__(self, trial: OpenTrial) -> None:
        self.trial = trial
        self.file = int(trial.page.query.get("file") or 0)
        self.pull = int(trial.page.query.get("pull") or 0)
        self.middle_s: float | None = None
        self.pictures: dict[str, Heard] = {}
        self.waiting: dict[str, Any] = {}
        self.looked: tuple[Any, ...] = ()
        self.asked: tuple[Any, ...] = ()
        self.list = ui.html("", sanitize=False, tag="div")
        self.place = ui.element("div")
        self.anew = ui.element("div")
        ui.on("prove_file", lambda event: self.choose_file(int(event.args.get("file", 0))))
        ui.on("prove_choose", lambda event: self.choose_pull(int(event.args.get("pull", 0))))
        ui.on("prove_look", lambda event: self.look_at(float(event.args.get("at", 0.0))))
        ui.on("prove_ends", self.moved)
        trial.on_change(self.show)

    # --- what is at hand

    @property
    def all(self) -> list[RecordingView]:
        """Every recording now."""
        return recordings_of(self.trial.now)

    def at_hand(self) -> RecordingView | None:
        """The recording that is shown."""
        found = self.all
        return next((one for one in found if one.number == self.file), found[0] if found else None)

    def choose_file(self, number: int) -> None:
        """Show another recording."""
        self.file, self.pull, self.middle_s = number, 0, None
        self.trial.remember(file=str(number), pull="")
        self.show()

    def choose_pull(self, number: int) -> None:
        """Take another pull in hand."""
        self.pull, self.middle_s = number, None
        self.trial.remember(pull=str(number))
        self.show()

    def look_at(self, at_s: float) -> None:
        """Look more closely where no pull was found."""
        self.pull, self.middle_s = 0, at_s
        self.show()

    # --- the page

    def show(self) -> None:
        """Draw it all again."""
        found = self.all
        one = self.at_hand()
        rows = listed(found, one.number if one is not None else 0)
        if rows != self.list.content:
            self.list.set_content(rows)
        self.ask_anew(one, found)
        # Drawn anew only where it is different: a button that is being pressed must not go away under the finger.
        looks = (one, self.pull, self.middle_s, self.heard(one) if one is not None else "")
        if looks == self.looked:
            return
        self.place.clear()
        if one is not None:
            with self.place:
                self.one(one)
        self.looked = (one, self.pull, self.middle_s, looks[-1])

    def ask_anew(self, one: RecordingView | None, found: list[RecordingView]) -> None:
        """How the recording at hand could be read anew: apart, so that what is being chosen there is left alone."""
        others = tuple((each.number, each.heard) for each in found)
        asked = (one.number, one.setup, one.direction, others) if one is not None else ()
        if asked != self.asked:
            self.asked = asked
            self.anew.clear()
            if one is not None:
                with self.anew:
                    read_anew(self.trial, one)

    def one(self, one: RecordingView) -> None:
        """One recording: looked over, and closely."""
        pull = next((each for each in one.pulls if each.number == self.pull), None)
        if pull is None and self.middle_s is None:
            pull = next((each for each in one.pulls if each.times), one.pulls[0] if one.pulls else None)
            self.pull = pull.number if pull else 0
        text(f"{one.file_name}: {one.setup}", "h3")
        text(f"Speed from {one.speed_from}; {one.duration_s:.1f} s.").classes("quiet")
        whole = speed_line(self.trial.now, one.number, 0.0, one.duration_s)
        heard = self.heard(one)
        text("Looked over: choose a pull, or press where one was missed.").classes("quiet")
        self.markup(trace(one, whole, 0.0, one.duration_s, chosen=self.pull, label=f"All of {one.file_name}"))
        if isinstance(heard, Heard):
            self.markup(sound(heard, self.picture_url(one), 0.0, one.duration_s))
            text(heard.octave_words).classes("quiet")
        elif heard:
            text(heard).props("role=status")
        middle = self.middle_s if pull is None else None
        if pull is not None or middle is not None:
            self.closely(one, pull, middle, heard)
        self.pull_list(one)
        for note in one.notes:
            text(note).classes("quiet")

    def closely(self, one: RecordingView, pull: PullView | None, middle: float | None, heard: Heard | str) -> None:
        """The pull at hand with its ends, or a place where one was missed."""
        low, high = (pull.start_s, pull.end_s) if pull is not None else ((middle or 0.0) - 5.0, (middle or 0.0) + 5.0)
        from_s, to_s = max(0.0, low - AROUND_S), min(one.duration_s, high + AROUND_S)
        line = speed_line(self.trial.now, one.number, from_s, to_s)
        name = f"pull {pull.name}" if pull is not None else "a pull that was missed"
        text(f"Closely: {name}", "h3")
        self.markup(
            trace(one, line, from_s, to_s, chosen=self.pull, handles=True, label=f"{name} closely").replace(
                'class="trace"', 'class="trace close"', 1
            )
        )
        if isinstance(heard, Heard):
            self.markup(sound(heard, self.picture_url(one), from_s, to_s))
        if pull is None:
            self.add(one, low, high)
        else:
            self.correct(one, pull)

    def add(self, one: RecordingView, low: float, high: float) -> None:
        """Fields for a pull that was missed."""
        place = f"prove.{self.trial.name}.missed {one.number} {low:.1f}"
        with ui.element("div").classes("fields"):
            start = _seconds("From, s", max(low, 0.0), draft=f"{place} from")
            end = _seconds("To, s", min(high, one.duration_s), draft=f"{place} to")
            why = field("Why", "the rule missed it", draft=f"{place} why")

        async def keep() -> None:
            typed = {name: str(each.value or "") for name, each in (("from", start), ("to", end), ("why", why))}
            change = PullChange(str(one.number), "add", _number(start), _number(end))
            if await self.edit([change], str(why.value or "")) and (now := self.at_hand()) is not None:
                for name, words in typed.items():
                    saved(self.trial.page, f"{place} {name}", words)
                self.choose_pull(max(each.number for each in now.pulls))

        button("Add this pull", keep, kind="chief")

    def correct(self, one: RecordingView, pull: PullView) -> None:
        """Everything that can be done to a pull, each with its reason."""
        out = pull.left_out or pull.dropped
        text("Drag an end of the band, or move it with the arrow keys; or type it:").classes("quiet")
        with ui.element("div").classes("fields"):
            start, end = _seconds("Begins, s", pull.start_s), _seconds("Ends, s", pull.end_s)
            gear = field("Gear, where it was not the highest", "" if pull.gear is None else str(pull.gear))
            gear.props("type=number min=1 max=9 step=1")
        place = f"prove.{self.trial.name}.pull {pull.name}"
        for typed_in, name in ((start, "begins"), (end, "ends"), (gear, "gear")):
            typed_in.props["data-path"] = f"{place} {name}"  # all of this may be drawn anew while somebody types

        async def typed(one: TextInput) -> None:
            words, ends = str(one.value or ""), (_number(start), _number(end))
            if None not in ends and (
                ends == (round(pull.start_s, 2), round(pull.end_s, 2))
                or await self.edit([PullChange(pull.name, "trim", *ends)], MOVED)
            ):
                saved(self.trial.page, one.props["data-path"], words)

        async def geared() -> None:
            words, number = str(gear.value or ""), _number(gear)
            if (
                not number
                or int(number) == pull.gear
                or await self.edit([PullChange(pull.name, "gear", gear=int(number))], "the gear that was driven")
            ):
                saved(self.trial.page, gear.props["data-path"], words)

        for one_field in (start, end):
            one_field.on("change", partial(typed, one_field))
        gear.on("change", geared)
        for words in pull.times:
            text(words).classes("number-line")
        if out:
            text(f"Left out: {out}").classes("warning certain")
        with ui.element("div").classes("row"):
            if pull.left_out:
                button(
                    "Put it back", partial(self.edit, [PullChange(pull.name, "take-back-in")], "it counts after all")
                )
            if pull.found is not None and pull.found != (pull.start_s, pull.end_s):
                change = PullChange(pull.name, "trim", *pull.found)
                button("Ends as they were found", partial(self.edit, [change], AS_FOUND))
            following = next((each for each in one.pulls if each.start_s > pull.start_s and not each.left_out), None)
            if following is not None and not out:
                button(f"Join with pull {following.name}", partial(self.join, pull.name, following.name))
        if not out:
            text("Leave it out, because", "h4")
            with ui.element("div").classes("row"):
                for reason in REASONS:
                    button(reason, partial(self.edit, [PullChange(pull.name, "leave-out")], reason))
                other = field("another reason", draft=f"{place} why")

                async def leave_out() -> None:
                    words = str(other.value or "")
                    if await self.edit([PullChange(pull.name, "leave-out")], words):
                        saved(self.trial.page, f"{place} why", words)

                button("Leave it out", leave_out)
        if pull.reasons:
            with ui.element("details"):
                text("What was said about it", "summary")
                with ui.element("ul"):
                    for reason in pull.reasons:
                        text(reason, "li")

    def pull_list(self, one: RecordingView) -> None:
        """The pulls as words, for those who do not see the trace."""
        text("Pulls of this recording", "h3")
        with ui.element("ul").classes("ruled-list"):
            if not one.pulls:
                text("None was found: press on the trace where one is.", "li")
            for pull in one.pulls:
                out = pull.left_out or pull.dropped
                with ui.element("li"):
                    chosen = button(f"Pull {pull.name}", partial(self.choose_pull, pull.number))
                    chosen.classes("listed").props(f'aria-pressed="{str(pull.number == self.pull).lower()}"')
                    times = "; ".join(pull.times) or "no gate passed"
                    words = f"{pull.start_s:.1f} to {pull.end_s:.1f} s; {times}" + (f"; left out: {out}" if out else "")
                    text(words, "span").classes("quiet")

    @staticmethod
    def markup(markup: str) -> None:
        """Our own markup, every name in it escaped."""
        ui.html(markup, sanitize=False)

    # --- corrections

    async def moved(self, event: events.GenericEventArguments) -> None:
        """An end was let go somewhere else."""
        one = self.at_hand()
        pull = next((each for each in one.pulls if each.number == int(event.args["pull"])), None) if one else None
        if pull is not None:
            ends = round(float(event.args["start"]), 2), round(float(event.args["end"]), 2)
            await self.edit([PullChange(pull.name, "trim", *ends)], MOVED)

    async def edit(self, changes: list[PullChange], because: str) -> bool:
        """Keep corrections."""
        return await self.trial.do(edit_pulls, self.trial.name, changes, because) is not None

    async def join(self, first: str, second: str) -> None:
        """Make two pulls one."""
        await self.trial.do(join_pulls, self.trial.name, first, second, "one pull, not two")

    # --- the sound picture

    def heard(self, one: RecordingView) -> Heard | str:
        """The sound picture where it is there; else what to say until it comes, "" where there is no sound."""
        if not one.heard:
            return ""
        key = self.key(one)
        if key not in self.pictures:
            kept = kept_picture(self.folder, key)
            if kept is None:
                if key not in self.waiting:
                    self.waiting[key] = "The sound picture is being made."
                    with self.trial.page.client:  # not in the place that is drawn anew meanwhile
                        ui.timer(0.0, partial(self.make, one, key), once=True)
                return str(self.waiting[key])
            self.pictures[key] = kept
        return self.pictures[key]

    @property
    def folder(self) -> Any:
        """Where pictures are kept."""
        return self.trial.page.state.folder / "sound-pictures"

    def entry(self, one: RecordingView) -> Any:
        """The entry that brought a recording."""
        return next(entry for entry in self.trial.now.state.files if entry.number == one.number)

    def key(self, one: RecordingView) -> str:
        """What its picture is kept by."""
        return picture_key(self.entry(one), self.trial.now.record_toml)

    def picture_url(self, one: RecordingView) -> str:
        """Where the browser finds the picture; served like everything else, behind the same guard."""
        key = self.key(one)
        url = f"/sound-pictures/{key}.png"
        if not any(getattr(route, "path", "") == url for route in pages_app.routes):
            pages_app.add_static_file(local_file=self.folder / f"{key}.png", url_path=url)
        return url

    async def make(self, one: RecordingView, key: str) -> None:
        """Have the picture made by a worker, from the bytes in the notebook."""
        state, entry = self.trial.page.state, self.entry(one)
        try:
            content = await asyncio.to_thread(content_of, entry, where=self.trial.where)
            upload = await state.incoming.take(once(content), one.file_name, ["recording"])
        except ScribelineError as refusal:
            self.waiting[key] = "\n".join(said(refusal))
            self.show()
            return
        try:
            job = state.workers.start(
                sound_picture, upload.path, dict(entry.data), self.trial.now.record_toml, what="The sound picture",
                limits=KINDS["recording"].limits,
            )  # fmt: skip
            await job.wait()
        finally:
            upload.discard()
        if job.state == "done":
            await asyncio.to_thread(keep_picture, self.folder, key, job.result)
            self.pictures[key] = job.result
        else:
            self.waiting[key] = job.error or "The sound picture could not be made."
        self.show()


def _seconds(label: str, value: float, *, draft: str = "") -> TextInput:
    return field(label, f"{value:.2f}", draft=draft).props("type=number step=0.1")


def _number(typed: TextInput) -> float | None:
    """What stands in a field whose browser takes numbers only; None for an empty one."""
    try:
        return round(float(typed.value or ""), 2)
    except ValueError:
        return None
