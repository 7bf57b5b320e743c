"""Further drawings of one speed: every port for itself, and two engines laid over each other."""

import math

import numpy as np

from scribeline.cycle.recording import Passage, Recording
from scribeline.errors import CycleError
from scribeline.kernels.gas import FloatArray
from scribeline.marking.curve_plot import CurvePlot, Line, Mark, Panel, curve_plot
from scribeline.marking.shapes import Drawing, Role
from scribeline.tasks.trace import OPEN_PERIOD_BAR, Trace, events

FROM_DEG = 60.0  # the turn begins where the cylinder is shut and still burning
SCALE = "crank angle, degrees after top dead centre; from 360 the next turn"


def ports_drawing(one: Trace) -> Drawing:
    """Pressure, mass flow, temperature and purity at exhaust, each transfer and intake, through one turn."""
    rec = one.recording
    x, order = _turn(rec)
    roles: list[tuple[Passage, Role]] = [
        (rec.exhaust, "exhaust curve"),
        *((p, "transfer curve") for p in rec.transfers),
    ]
    roles.append((rec.intake, "intake curve"))

    def lines(of: str, scale: float, less: float = 0.0) -> tuple[Line, ...]:
        return tuple(Line(p.name, role, x, (getattr(p, of)[order] * scale - less).tolist()) for p, role in roles)

    panels = (  # those whose lines end close together outermost, where their names have room
        Panel("fresh share of the gas", lines("fresh", 1.0), 46.0, low=0.0, high=1.0),
        Panel(f"pressure, bar; cut off at {OPEN_PERIOD_BAR:g}", lines("p_pa", 1e-5), 46.0, high=OPEN_PERIOD_BAR),
        Panel("mass flow, g/s; below 0: back", lines("flow_kg_s", 1e3), 46.0),
        Panel("temperature, °C", lines("t_k", 1.0, 273.15), 46.0),
    )
    name = one.out.record.name
    said = f"Pressure, mass flow, temperature and purity at every port of {name} at {rec.speed_rpm:g} rpm."
    return _plot("every-port", f"{name} at {rec.speed_rpm:g} rpm, port by port", said, panels, rec)


def over_drawing(one: Trace, other: Trace) -> Drawing:
    """Two engines at one speed: the first as full lines, the other as broken ones. CycleError for two speeds."""
    a, b = one.recording, other.recording
    if a.speed_rpm != b.speed_rpm:
        raise CycleError(
            f"{a.speed_rpm:g} and {b.speed_rpm:g} rpm cannot be laid over each other: trace them at one speed"
        )

    def panel(
        title: str, of: str, scale: float, height: float = 30.0, high: float | None = None, at: str = ""
    ) -> Panel:
        drawn: list[Line] = []
        both: tuple[tuple[Trace, Role], ...] = ((one, "target"), (other, "today"))
        for trace, role in both:
            x, order = _turn(trace.recording)
            values = getattr(getattr(trace.recording, at) if at else trace.recording, of)
            drawn.append(Line(trace.out.record.name, role, x, (values[order] * scale).tolist()))
        return Panel(title, tuple(drawn), height, high=high)

    cut = f"bar; cut off at {OPEN_PERIOD_BAR:g}"
    panels = (
        panel(f"pressure in the cylinder, {cut}", "cylinder_pa", 1e-5, 40.0, OPEN_PERIOD_BAR),
        panel(f"pressure at the exhaust port, {cut}", "p_pa", 1e-5, 40.0, OPEN_PERIOD_BAR, "exhaust"),
        panel("pressure in the crankcase, bar", "case_pa", 1e-5),
        panel("mass flow at the exhaust port, g/s", "flow_kg_s", 1e3, at="exhaust"),
        panel("mass flow at the intake, g/s", "flow_kg_s", 1e3, at="intake"),
        panel("fresh share of the gas in the cylinder", "cylinder_fresh", 1.0, high=1.0),
        panel("pressure in the cylinder, bar", "cylinder_pa", 1e-5),
    )
    first, second = one.out.record.name, other.out.record.name
    title = f"{first} (full line) against {second} (broken line) at {a.speed_rpm:g} rpm"
    said = f"Pressures, flows and purity through one turn; the events are those of {first}."
    return _plot("two-through-one-turn", title, said, panels, a)


def _turn(rec: Recording) -> tuple[list[float], np.ndarray]:
    deg: FloatArray = np.degrees(rec.theta_rad)
    order = np.argsort((deg - FROM_DEG) % 360.0)
    return (FROM_DEG + (deg - FROM_DEG) % 360.0)[order].tolist(), order


def _plot(name: str, title: str, said: str, panels: tuple[Panel, ...], rec: Recording) -> Drawing:
    marks = tuple(Mark(angle, words) for words, angle in events(rec))
    span = (FROM_DEG, math.fsum((FROM_DEG, 360.0)), 30.0)
    return curve_plot(CurvePlot(name, title, said, SCALE, *span, panels, marks))
