"""Power before and after, first coarse, then fine, then with its band; and who limits what. Both in the background."""

from typing import Any

from nicegui import ui

from scribeline.tasks.plan_curves import curves_rows, curves_words, has_come, stage_words
from scribeline.tasks.plan_jobs import curves, who
from scribeline.tasks.plan_kept import kept, of_plan, of_who
from scribeline.web.pages.plan.bench import Bench
from scribeline.web.pages.plan.inside import Inside
from scribeline.web.pages.plan.looks import Html, figure, fold, listed, paragraphs, stale_mark, table
from scribeline.web.pages.plan.work import Watch, running, start, underway
from scribeline.web.shell import button, say, text

AFTER_S = 0.1
"""How long the plan must stay as it is before the quick curves follow it; judgement: the drawings come first."""

GO_ON = "Go on with the fine curves"


def build_curves(bench: Bench) -> None:
    """Build the curves."""
    text(
        "The quick curves follow every change by themselves. The fine ones take some seconds and appear speed by "
        "speed, the band takes some more: what your measuring leaves open. None of it keeps you from going on, and "
        "what is stopped keeps what it has.",
        "p",
    ).classes("quiet")
    with ui.element("div").classes("row"):
        fine = button("Fine curves", lambda: asked("fine"))
        button("Fine curves with their band", lambda: asked("band"), kind="chief")
    watch = Watch(bench, "curve")
    shown = Html()
    with fold("The same in numbers"):
        numbers = Html()
    within = Inside(bench)

    def of() -> str:
        return of_plan(bench.kept.record, bench.kept.plan)

    def show(document: dict[str, Any] | None) -> None:
        within.curve(document)
        if document is None:
            shown.show('<p class="quiet">The first curves take a moment.</p>')
            return
        stale = document["of"] != of()
        live = underway(bench, "curve", document["of"]) is not None
        fine.set_text(GO_ON if document["stage"] == "part" and not stale and not live else "Fine curves")
        come = paragraphs([stage_words(document, live=live)])
        words = curves_words(document)
        said = listed(document["said"])
        shown.show(stale_mark(stale) + come + figure(document["drawing"], stale) + paragraphs(words) + said)
        heads = ["rev/min", "before, kW", "after, kW", "by, kW", "knock margin before, after"]
        numbers.show(table(heads, curves_rows(document), "Power before and after"))

    watch.follow(show)

    def asked(upto: str) -> None:
        if has_come(kept(bench.place, "curve"), of(), upto):
            say("They are below already: of this very plan.")
        else:
            go(upto)

    def go(upto: str) -> None:
        watch.attend(
            start(bench, "curve", curves, of(), bench.kept.record, bench.kept.plan, upto,
                  what="The power curve", quick=upto == "coarse")
        )  # fmt: skip
        if upto != "coarse":
            watch.begun("the curves begin")

    def follow() -> None:
        watch.show_kept()
        pending.activate()

    def due() -> None:
        pending.deactivate()
        now, job = underway(bench, "curve", of()), running(bench, "curve")
        if now is not None:
            watch.attend(now)
        elif watch.kept_of() != of():
            go("coarse")
        elif job is not None:
            job.stop()  # of a plan that is no more

    pending = ui.timer(AFTER_S, due, active=False)
    due()  # while the page is on its way to the browser
    bench.on_kept(follow)


def build_who(bench: Bench) -> None:
    """Build who limits what."""
    text(
        "What the plan gains, shared out among what it changes: every combination is simulated, also for engines "
        "within the +/- of your readings. With fewer than two groups in the plan the best single thing of each "
        "group is compared.",
        "p",
    ).classes("quiet")
    button("Who limits what?", lambda: go())
    watch = Watch(bench, "who")
    shown = Html()

    def of() -> str:
        return of_who(bench.kept.record, bench.kept.plan)

    def show(document: dict[str, Any] | None) -> None:
        if document is None:
            return
        stale = document["of"] != of()
        groups = [f"{group}: {said}" for group, said in document["groups"].items()]
        only = f"Stopped before its end: the shares are whole, their +/- is from {document['drawn']} engines only."
        early = [only] if document.get("stopped") else []
        whose = "The steps of the plan" if document["own"] else "The best single thing of each group"
        shown.show(
            stale_mark(stale) + figure(document["drawing"], stale) + listed(document["answers"])
            + paragraphs([*early, f"{whose}:"]) + listed(groups)
        )  # fmt: skip

    watch.follow(show)

    def go() -> None:
        watch.attend(start(bench, "who", who, of(), bench.kept.record, bench.kept.plan, what="Who limits what"))
        watch.begun("all combinations")

    bench.on_kept(watch.show_kept)
