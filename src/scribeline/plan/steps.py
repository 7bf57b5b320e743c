"""A step of a plan and the plan itself: plain frozen values, written to a file by `plan_file`, done by `carry_out`."""

from dataclasses import dataclass, field

from scribeline.plan.box import Box
from scribeline.plan.limit_table import LimitTable
from scribeline.plan.wanted import Wanted


@dataclass(frozen=True)
class Step:
    """One operation, on what, and how much.

    do : key of the operation; at : its target, such as a port's name, or a group ("all transfers")
    amount : in the unit of the operation's amount; choice : the name of what is fitted instead
    details : further numbers by key, such as (("roof_angle_deg", 12.0),), in the order of their keys
    """

    do: str
    at: str = ""
    amount: float | None = None
    choice: str = ""
    details: tuple[tuple[str, float], ...] = ()

    def detail(self, key: str) -> float | None:
        """A further number of the step, or None where it carries none of that key."""
        return dict(self.details).get(key)


@dataclass(frozen=True)
class Plan:
    """Steps in the order they are to be done, and what is at hand for them.

    limits : what the builder set tighter, looser or off; every card and sheet says the last two
    wanted : what a search is asked for
    """

    steps: tuple[Step, ...]
    box: Box = field(default_factory=Box)
    name: str = "plan"
    note: str = ""
    limits: LimitTable = field(default_factory=LimitTable)
    invented: bool = False
    wanted: Wanted = field(default_factory=Wanted)
