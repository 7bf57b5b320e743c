"""The order of work: squish and deck first, then re-measure, then the port lines, drawn from the new deck."""

from collections.abc import Sequence
from dataclasses import dataclass

from scribeline.plan.description import Stage
from scribeline.plan.operations import BY_KEY
from scribeline.plan.phrases import shown
from scribeline.plan.steps import Step

_WHY = {
    Stage.DECK: "it moves the deck, and every port line is drawn from the deck as it is afterwards",
    Stage.PORTS: "the ports decide what the skirt and the pipe have to do, and metal in the barrel is the dearest",
    Stage.PISTON: "the skirt is trimmed to the port as it was cut, and a piston can be replaced",
    Stage.BREATHING: "intake and pipe are fitted to the finished ports, and are adjusted before spark and mixture",
}


@dataclass(frozen=True)
class Reordered:
    """One step that had to come earlier than it was written, and why."""

    step: Step
    written: int
    done: int
    why: str


def in_order(steps: Sequence[Step]) -> tuple[tuple[Step, ...], tuple[Reordered, ...]]:
    """The steps by stage, each stage in the order it was written, and what had to be moved for it.

    An operation that nobody knows stays behind everything: `carry_out` refuses it.
    """
    places = sorted(range(len(steps)), key=lambda at: stage_of(steps[at]))
    moved = []
    for done, written in enumerate(places):
        passed = [at for at in range(written) if stage_of(steps[at]) > stage_of(steps[written])]
        if passed:
            why = f"{_WHY[stage_of(steps[written])]}; so it comes before {shown(steps[passed[0]])}"
            moved.append(Reordered(steps[written], written + 1, done + 1, why))
    return tuple(steps[at] for at in places), tuple(moved)


def stage_of(step: Step) -> Stage:
    """The stage a step belongs to; the last for an unknown one."""
    operation = BY_KEY.get(step.do)
    return operation.stage if operation else Stage.RUNNING
