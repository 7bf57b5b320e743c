"""What the operations on ports share: which ports a target names, how an edge is cut by hand, how far by width."""

from collections.abc import Callable, Iterable

from scribeline.engine import TRANSFER_ROLES, EngineRecord, Port, judged_again
from scribeline.plan.box import Box
from scribeline.plan.description import Amount, Change, Instruction
from scribeline.plan.edges import Edge, chord_mm, corners_squared, edge_moved, widened
from scribeline.plan.steps import Step

ALL_TRANSFERS = "all transfers"
RAISE = Amount("up_mm", "mm", 0.0, 10.0, "how far the roof goes up, in mm", metal=True)
LOWER = Amount("down_mm", "mm", 0.0, 15.0, "how far the floor goes down, in mm", metal=True)
WIDEN = Amount(
    "wider_mm", "mm", 0.0, 40.0, "how much wider the port gets, straight across, both sides together", metal=True
)
SQUARE = Amount("radius_off_mm", "mm", 0.0, 30.0, "by how much the corners' radius gets smaller", metal=True)
TOOLS = (
    "scriber and felt pen",
    "degree wheel",
    "caliper in the bore",
    "file or die grinder",
    "piston ring to light the bore",
)
STUDS = ("foot_stud_clearance_mm", "head_stud_clearance_mm")
INSTEAD_EDGE = "lift or lower the whole barrel by its base gasket or a spacer, or use another cylinder"
INSTEAD_WIDTH = "another cylinder"


def named(record: EngineRecord, target: str) -> tuple[Port, ...]:
    """The ports a target names: one by its name, or all transfers."""
    by_name = tuple(port for port in record.ports if port.name == target)
    if by_name:
        return by_name
    return tuple(port for port in record.ports if target == ALL_TRANSFERS and port.role in TRANSFER_ROLES)


def ports_of(*roles: str) -> Callable[[EngineRecord, Box], tuple[str, ...]]:
    """Targets: every port of these roles by name."""
    return lambda record, box: tuple(port.name for port in record.ports if port.role in roles)


def transfers(record: EngineRecord, box: Box) -> tuple[str, ...]:
    """Targets: each transfer by name, then all of them, where there is more than one."""
    names = ports_of(*TRANSFER_ROLES)(record, box)
    return (*names, ALL_TRANSFERS) if len(names) > 1 else names


def with_ports(record: EngineRecord, changed: Iterable[Port]) -> EngineRecord:
    """The record with these ports in place of those of the same name."""
    new = {port.name: port for port in changed}
    return judged_again(record.model_copy(update={"ports": tuple(new.get(port.name, port) for port in record.ports)}))


def cut(edge: Edge) -> Change:
    """Take metal off an edge of every port that the target names."""

    def change(record: EngineRecord, step: Step, box: Box) -> EngineRecord:
        assert step.amount is not None
        return with_ports(record, [edge_moved(record, port, edge, step.amount) for port in named(record, step.at)])

    return change


def widen(record: EngineRecord, step: Step, box: Box) -> EngineRecord:
    """Every port that the target names, wider."""
    assert step.amount is not None
    return with_ports(record, [widened(record, port, step.amount) for port in named(record, step.at)])


def square(edge: Edge) -> Change:
    """Corners of an edge cut to a smaller radius."""

    def change(record: EngineRecord, step: Step, box: Box) -> EngineRecord:
        assert step.amount is not None
        return with_ports(record, [corners_squared(port, edge, step.amount) for port in named(record, step.at)])

    return change


def room_to_widen(record: EngineRecord, target: str) -> tuple[float, float]:
    """No port is as wide as the bore."""
    chords = [chord_mm(record, port) for port in named(record, target)]
    return 0.0, max(0.0, record.cylinder.bore_mm.value - 0.1 - max(chords))


def room_to_square(edge: Edge) -> Callable[[EngineRecord, str], tuple[float, float]]:
    """A radius ends at 0."""

    def within(record: EngineRecord, target: str) -> tuple[float, float]:
        radii = [getattr(port, f"{edge}_corner_radius_mm") for port in named(record, target)]
        return 0.0, min((radius.value for radius in radii if radius is not None), default=0.0)

    return within


def with_radius(edge: Edge, *roles: str) -> Callable[[EngineRecord, Box], tuple[str, ...]]:
    """Targets: ports whose corners have a radius that was measured."""

    def targets(record: EngineRecord, box: Box) -> tuple[str, ...]:
        key = f"{edge}_corner_radius_mm"
        return tuple(port.name for port in record.ports if port.role in roles and getattr(port, key) is not None)

    return targets


def by_hand(line: str, measure: str) -> tuple[Instruction, ...]:
    """How an edge or a side of a port is cut by hand."""
    return (
        Instruction(
            f"Blue the bore round the port and scribe {line} from the deck as it is now, both lines: stop and target."
        ),
        Instruction("Turn the crank with the wheel on and see that the line is where the wheel says.", measure),
        Instruction("Cut to the stop line from the port's inside outwards; keep the bore wall untouched.", measure),
        Instruction("Finish to the target with a fine file, the shape of the corners as drawn.", measure),
        Instruction(
            "Break the edge: a chamfer of 0.5 mm all round, so that no ring is caught. Wash every chip out.",
            "run a finger and a ring over every edge",
        ),
    )
