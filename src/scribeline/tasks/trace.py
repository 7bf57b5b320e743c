"""One speed of an engine opened up: what the gas does at each place through one turn of the crank."""

import csv
import io
import math
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from scribeline.cycle.from_record import Build
from scribeline.cycle.recording import Passage, Recording
from scribeline.cycle.simulate import CycleResult, Settings
from scribeline.data.cautions import Caution
from scribeline.engine import EngineRecord, read_record_file
from scribeline.errors import CycleError
from scribeline.geometry.work_out import WorkedOut
from scribeline.kernels.gas import FloatArray
from scribeline.marking.curve_plot import CurvePlot, Line, Mark, Panel, curve_plot
from scribeline.marking.shapes import Drawing
from scribeline.marking.wave_plot import WavePlot, wave_plot
from scribeline.models.knock import ERROR_OCTANE
from scribeline.tasks.curve import COLUMNS, Curve, Point, converged_words, power_curve
from scribeline.tasks.curve_text import grounds, item
from scribeline.units import Units

STEP_RPM, LEAST_RPM = 500.0, 1000.0  # of the usual curve: its steps, and where it begins at the lowest
OPEN_PERIOD_BAR = 2.5  # top of the pressure panel that shows the open period


@dataclass(frozen=True)
class Trace:
    """One speed of one record: a curve of a single point, opened up."""

    curve: Curve

    @property
    def out(self) -> WorkedOut:
        return self.curve.out

    @property
    def build(self) -> Build:
        return self.curve.build

    @property
    def point(self) -> Point:
        return self.curve.points[0]

    @property
    def cautions(self) -> tuple[Caution, ...]:
        return self.curve.cautions

    @property
    def result(self) -> CycleResult:
        return self.point.got

    @property
    def recording(self) -> Recording:
        if self.point.recording is None:
            raise CycleError(self.point.why_not)
        return self.point.recording


def trace(
    record: EngineRecord,
    speed_rpm: float,
    settings: Settings | None = None,
    *,
    throttle: float = 1.0,
    blow_by_mm2: float = 0.0,
) -> Trace:
    """Simulate one speed and keep everything about its last revolution; CycleError where it comes to no sound end.

    Some pipes can run in two ways at one speed. So the speed is come to from STEP_RPM below, as it is in a curve.
    throttle : open share of the carburettor's bore, 0.1 to 1; blow_by_mm2 : area that leaks past the rings
    """
    below = speed_rpm - STEP_RPM if speed_rpm >= STEP_RPM + LEAST_RPM else None
    curve = power_curve(
        record, [speed_rpm], settings, throttle=throttle, blow_by_mm2=blow_by_mm2, threads=1, coming_from=below
    )
    if curve.points[0].result is None:
        raise CycleError(curve.points[0].why_not)
    return Trace(curve)


def trace_of_file(
    path: Path,
    speed_rpm: float,
    settings: Settings | None = None,
    *,
    throttle: float = 1.0,
    blow_by_mm2: float = 0.0,
) -> Trace:
    """Read a record file and trace one speed; RecordError where the file is refused."""
    return trace(read_record_file(path), speed_rpm, settings, throttle=throttle, blow_by_mm2=blow_by_mm2)


def _passages(rec: Recording) -> list[Passage]:
    return [rec.exhaust, *rec.transfers, rec.intake]


def trace_csv(one: Trace) -> str:
    """A heading line, then one line for every half degree after top dead centre."""
    rec = one.recording
    columns = {
        "deg_atdc": np.degrees(rec.theta_rad),
        "cylinder_bar": rec.cylinder_pa / 1e5,
        "cylinder_c": rec.cylinder_k - 273.15,
        "cylinder_fresh": rec.cylinder_fresh,
        "crankcase_bar": rec.case_pa / 1e5,
        "crankcase_c": rec.case_k - 273.15,
        "crankcase_fresh": rec.case_fresh,
    }
    for p in _passages(rec):
        at = p.name.replace(" ", "_")
        columns |= {
            f"{at}_g_s": p.flow_kg_s * 1e3,
            f"{at}_bar": p.p_pa / 1e5,
            f"{at}_c": p.t_k - 273.15,
            f"{at}_fresh": p.fresh,
            f"{at}_open_mm2": p.area_m2 * 1e6,
        }
    if one.build.engine.reed is not None:
        columns["reed_lift_mm"] = rec.lift_m * 1e3
    file = io.StringIO()
    writer = csv.writer(file, lineterminator="\n")
    writer.writerow(columns)
    writer.writerows([f"{value:.6g}" for value in row] for row in zip(*columns.values(), strict=True))
    return file.getvalue()


def events(rec: Recording) -> list[tuple[str, float]]:
    """The port events of the cylinder and what they are called, crank angle [deg after top dead centre]."""
    return [
        ("exhaust opens", math.degrees(rec.opens_rad)),
        ("transfers open", math.degrees(rec.transfer_opens_rad)),
        ("transfers close", math.degrees(rec.transfer_closes_rad)),
        ("exhaust closes", math.degrees(rec.closes_rad)),
    ]


def states(rec: Recording) -> list[tuple[str, float, tuple[float, float, float], float]]:
    """At every port event its words and angle [deg after top dead centre], what stands there and the fresh share.

    What stands there: pressure in cylinder, crankcase and pipe at the exhaust port [bar].
    """
    found = []
    for words, deg in events(rec):
        rad = math.radians(deg)
        cylinder, case, pipe = (rec.at(row, rad) / 1e5 for row in (rec.cylinder_pa, rec.case_pa, rec.exhaust.p_pa))
        found.append((words, deg, (cylinder, case, pipe), rec.at(rec.cylinder_fresh, rad)))
    return found


def trace_drawings(one: Trace, units: Units = "mm") -> list[Drawing]:
    """What happens at cylinder, crankcase and ports through one turn, and the waves in the pipe."""
    return [turn_drawing(one), waves_drawing(one, units)]


def turn_drawing(one: Trace) -> Drawing:
    """Pressures, flows, temperatures and purity through one turn, against crank angle."""
    rec = one.recording
    deg = np.degrees(rec.theta_rad)
    order = np.argsort((deg - 60.0) % 360.0)  # the turn begins where the cylinder is shut and still burning
    x = (60.0 + (deg - 60.0) % 360.0)[order].tolist()

    def cylinder(y: FloatArray) -> Line:
        return Line("cylinder", "outline", x, y[order].tolist())

    def at_exhaust(y: FloatArray) -> Line:
        return Line("exhaust port", "exhaust curve", x, y[order].tolist())

    def crankcase(y: FloatArray) -> Line:
        return Line("crankcase", "transfer curve", x, y[order].tolist())

    def intake(y: FloatArray) -> Line:
        return Line("intake", "intake curve", x, y[order].tolist())

    transfers = np.sum([p.flow_kg_s for p in rec.transfers], axis=0) * 1e3
    panels = (
        Panel(
            f"pressure, bar; cut off at {OPEN_PERIOD_BAR:g}",
            (
                cylinder(rec.cylinder_pa / 1e5),
                at_exhaust(rec.exhaust.p_pa / 1e5),
                crankcase(rec.case_pa / 1e5),
                intake(rec.intake.p_pa / 1e5),
            ),
            46.0,
            high=OPEN_PERIOD_BAR,
        ),
        Panel(
            "mass flow, g/s; below 0: back",
            (
                at_exhaust(rec.exhaust.flow_kg_s * 1e3),
                Line("transfers together", "transfer curve", x, transfers[order].tolist()),
                intake(rec.intake.flow_kg_s * 1e3),
            ),
            36.0,
        ),
        Panel(
            "temperature, °C",
            (cylinder(rec.cylinder_k - 273.15), at_exhaust(rec.exhaust.t_k - 273.15), crankcase(rec.case_k - 273.15)),
        ),
        Panel(
            "fresh share of the gas",
            (cylinder(rec.cylinder_fresh), at_exhaust(rec.exhaust.fresh), crankcase(rec.case_fresh)),
            low=0.0,
            high=1.0,
        ),
        Panel("pressure in the cylinder, bar", (cylinder(rec.cylinder_pa / 1e5),)),
    )
    marks = [Mark(angle, words) for words, angle in events(rec)]
    name = one.out.record.name
    plot = CurvePlot(
        "through-one-turn",
        f"{name} at {rec.speed_rpm:g} rpm, through one turn",
        f"Pressure, mass flow, temperature and purity of {name} at {rec.speed_rpm:g} rpm against crank angle.",
        "crank angle, degrees after top dead centre; from 360 the next turn",
        60.0, 420.0, 30.0, panels, tuple(marks),
    )  # fmt: skip
    return curve_plot(plot)


def waves_begin(one: Trace) -> float:
    """The crank angle that the wave diagram begins at, shortly before the exhaust opens [deg]."""
    return math.floor(math.degrees(one.recording.opens_rad) / 30.0) * 30.0


def waves_drawing(one: Trace, units: Units = "mm", begin_deg: float | None = None) -> Drawing:
    """Pressure along the pipe against time. begin_deg : `waves_begin` where left out; the same for two side by side"""
    rec = one.recording
    deg = np.degrees(rec.theta_rad)
    first = waves_begin(one) if begin_deg is None else begin_deg
    order = np.argsort((deg - first) % 360.0)[::4]
    turned = (first + (deg - first) % 360.0)[order]
    above = (rec.pipe_pa[order] - rec.ambient_pa) / 1e5
    closed = np.vstack([above, above[:1]])
    marks = [Mark(angle, words) for words, angle in events(rec)] + [
        Mark(180.0, "bottom dead centre"),
        Mark(360.0, "top dead centre"),
    ]
    return wave_plot(
        WavePlot(
            (1e3 * rec.pipe_x_m).tolist(),
            (1e3 * rec.pipe_bore_m).tolist(),
            [*turned.tolist(), first + 360.0],
            closed.tolist(),
            tuple(marks),
            60e3 / rec.speed_rpm / 360.0,
            units=units,
        )
    )


def trace_text(one: Trace, other: Trace | None = None, units: Units = "mm") -> str:
    """The chief numbers, those of another engine beside them, then the state at every event."""
    rec, record = one.recording, one.out.record
    lines = [f"{record.name}{' (INVENTED, for demonstration)' if record.invented else ''} at {rec.speed_rpm:g} rpm"]
    if other is not None:
        lines.append(f"  against {other.out.record.name}, the right-hand numbers")
    for c in COLUMNS:
        beside = f"{c.of(other.point):>12.{c.digits}f}" if other is not None else ""
        lines.append(f"  {c.heading:<16}{c.of(one.point):>10.{c.digits}f}{beside} {c.unit}")
    lines.append(f"  octane needed, and the knock margin with it: +/- {ERROR_OCTANE:g} at least")
    lines += [
        f"  converged       {converged_words(one.point)}",
        "",
        "WHAT LIMITS IT HERE",
        *item("-", one.point.limit, units),
        "",
    ]
    lines.append(f"{'':<18}{'angle':>8}{'cylinder':>12}{'crankcase':>12}{'pipe at port':>14}{'fresh in cylinder':>20}")
    for words, deg, at, fresh in states(rec):
        bars = f"{at[0]:>8.2f} bar{at[1]:>8.2f} bar{at[2]:>10.2f} bar"
        lines.append(f"{words:<18}{deg:>7.1f}°{bars}{100.0 * fresh:>18.0f} %")
    return "\n".join([*lines, *grounds(one.curve, units)])
