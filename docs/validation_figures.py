"""Draws the pictures of docs/concepts/validation.md from the functions that the tests call.

    .venv/bin/python docs/validation_figures.py

A test draws them again and compares, so that a picture cannot show what the code no longer does. Broken lines are what
is exact, measured or read elsewhere; full lines with marks are what the simulation gives.
"""

import math
import sys
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from scribeline.cycle.engine import Knobs, Section  # noqa: E402
from scribeline.cycle.simulate import Settings, simulate  # noqa: E402
from scribeline.kernels.boundaries import nozzle_flow  # noqa: E402
from scribeline.marking.curve_plot import CurvePlot, Line, Panel, curve_plot  # noqa: E402
from scribeline.marking.shapes import Drawing  # noqa: E402
from scribeline.marking.svg import write_svg  # noqa: E402
from scribeline.models import scavenging  # noqa: E402
from tests.cycle.invented import engine  # noqa: E402
from tests.cycle.test_simulate import closed_part  # noqa: E402
from tests.reference.checks import load  # noqa: E402
from tests.verification import test_acoustics as acoustics  # noqa: E402
from tests.verification import test_steady_and_blowdown as steady  # noqa: E402
from tests.verification.exact_riemann import sample  # noqa: E402
from tests.verification.test_duct_losses import RHO, speed_m_s  # noqa: E402
from tests.verification.test_shock_tubes import SOD, sod_error, tube  # noqa: E402
from tests.verification.test_smooth_waves import wave_error  # noqa: E402

FOLDER = ROOT / "docs" / "pictures" / "validation"
GAS = load("04_gas_dynamics")
Numbers = Sequence[float]


def exact(name: str, x: Numbers, y: Numbers) -> Line:
    return Line(name, "today", list(x), list(y))


def ours(name: str, x: Numbers, y: Numbers, *, dots: bool = True) -> Line:
    return Line(name, "target", list(x), list(y), dots=dots)


def drawn(name: str, title: str, said: str, x_words: str, span: tuple[float, float, float], *panels: Panel) -> Drawing:
    return curve_plot(CurvePlot(name, title, said, x_words, *span, panels))


def sod() -> Drawing:
    """Density, velocity and pressure of Sod's shock tube at 0.2 with 100 cells."""
    edges, got = tube(100, *SOD, 0.5, 0.2)
    middle = 0.5 * (edges[1:] + edges[:-1])
    fine = np.linspace(0.0, 1.0, 1200)
    want = sample(*SOD, 1.4, (fine - 0.5) / 0.2)
    panels = [
        Panel(words, (exact("exact", fine, want[i]), ours("100 cells", middle, got[i])), 34.0)
        for i, words in enumerate(("density", "velocity", "pressure"))
    ]
    return drawn(
        "sod", "A shock tube", "Sod's shock tube against the exact solution.", "place", (0.0, 1.0, 0.1), *panels
    )


def order() -> Drawing:
    """Errors against the number of cells, logarithms to base 2: Sod's jumps and a smooth wave of sound."""
    counts = (50, 100, 200)
    smooth = [float(wave_error(n, 1e-7)[0]) for n in counts]
    jumps = [float(sod_error(n)) for n in (100, 200, 400)]
    two = [-2.0 * i for i in range(3)]
    one = [-1.0 * i for i in range(3)]
    return drawn(
        "order",
        "How the error falls when the cells are halved",
        "Error relative to the coarsest run, as powers of two.",
        "how often the cells were halved",
        (0.0, 2.0, 1.0),
        Panel(
            "smooth wave, log2 of the density error",
            (exact("second order", range(3), two), ours("ours", range(3), [math.log2(e / smooth[0]) for e in smooth])),
            34.0,
        ),
        Panel(
            "shock tube, log2 of the density error",
            (exact("first order", range(3), one), ours("ours", range(3), [math.log2(e / jumps[0]) for e in jumps])),
            34.0,
        ),
    )


def resonances() -> Drawing:
    """What three pipes ring at, closed at one end and open at both, end corrections included."""
    keys = ("resonance-pipe-0.12", "resonance-pipe-0.3", "resonance-pipe-0.85")
    lengths, quarter, half, got_quarter, got_half = [], [], [], [], []
    for key in keys:
        i, want = GAS[key].inputs, GAS[key].expected
        length, bore, t_k = i["length_m"], i["inside_diameter_m"], i["T_K"]
        correction = acoustics.resonance.open_end_correction_m(bore)
        lengths.append(1e3 * length)
        quarter.append(want["quarter_wave_Hz"][0])
        half.append(want["half_wave_open_open_Hz"][0])
        got_quarter.append(acoustics.quarter_wave_hz(length + correction, bore, t_k, quarter[-1]))
        got_half.append(acoustics.half_wave_hz(length + 2.0 * correction, bore, t_k, half[-1]))
    return drawn(
        "resonances",
        "What plain pipes ring at",
        "Lowest resonance of three pipes against acoustics with the end correction of Levine and Schwinger.",
        "length of the pipe, mm",
        (0.0, 900.0, 100.0),
        Panel("closed at one end, Hz", (exact("theory", lengths, quarter), ours("ours", lengths, got_quarter)), 34.0),
        Panel("open at both ends, Hz", (exact("theory", lengths, half), ours("ours", lengths, got_half)), 34.0),
    )


def nozzle() -> Drawing:
    """Mach number along a bell-shaped duct."""
    mach, want, _ = steady.subsonic_nozzle(40, 1.4)
    along = (np.arange(40) + 0.5) / 40 * 400.0
    return drawn(
        "nozzle",
        "A duct that narrows and widens",
        "Mach number along the duct against the area relation.",
        "along the duct, mm",
        (0.0, 400.0, 50.0),
        Panel("Mach number", (exact("area relation", along, want), ours("40 cells", along, mach)), 45.0),
    )


def port_flow() -> Drawing:
    """The flow through a port against the pressure behind it."""
    shares = np.array([0.2, 0.35, 0.5, 0.6, 0.7, 0.8, 0.9, 0.97])
    p0, t0, area = 2e5, 300.0, 1e-4
    flows = [1e3 * steady.port_flow(1.4, 287.05, p0, t0, 100.0 * area, share * p0) for share in shares]
    fine = np.linspace(0.2, 0.999, 200)
    law = [1e3 * area * nozzle_flow(p0, t0, (1.0 - share) * p0, 1.4, 287.05) for share in fine]
    return drawn(
        "port-flow",
        "Through a port",
        "Mass flow through a port of 1 cm2 from 2 bar and 300 K, choked below 0.53.",
        "pressure behind the port over that before it",
        (0.0, 1.0, 0.1),
        Panel("flow, g/s", (exact("nozzle law", fine, law), ours("ours", shares, flows)), 45.0),
    )


def blowdown() -> Drawing:
    """A vessel that empties through a choked port: pressure against time."""
    check = GAS[next(key for key in GAS if key.startswith("vessel-blowdown"))]
    gamma, r, p0, t0, volume, area, t = (
        check.inputs[k] for k in ("gamma", "R", "p0_Pa", "T0_K", "volume_m3", "effective_area_m2", "t_s")
    )
    shares = np.linspace(0.1, 1.0, 10)
    got = [1e-5 * steady.blow_down(check, 20, share)[0] for share in shares]
    fine = np.linspace(0.0, t, 100)
    flow = math.sqrt(gamma * r * t0) * (2.0 / (gamma + 1.0)) ** (0.5 * (gamma + 1.0) / (gamma - 1.0))
    law = 1e-5 * p0 * (1.0 + 0.5 * (gamma - 1.0) * flow * area / volume * fine) ** (-2.0 * gamma / (gamma - 1.0))
    ms = 1e3 * t
    return drawn(
        "blowdown",
        "A vessel that blows down",
        "Pressure against time while the port is choked, against the closed form.",
        "time, ms",
        (0.0, ms, ms / 5.0),
        Panel("pressure, bar", (exact("closed form", 1e3 * fine, law), ours("ours", ms * shares, got)), 50.0),
    )


def closed_cycle() -> Drawing:
    """Cylinder pressure from exhaust closing to opening against another program written for the test."""
    running, theta, pressure = closed_part()
    trace = running.trace[0]
    angle = (np.arange(trace.size) + 0.5) * 360.0 / trace.size
    angle = np.where(angle > 180.0, angle - 360.0, angle)
    sequence = np.argsort(angle)
    angle, trace = angle[sequence], trace[sequence]
    deg = np.degrees(theta)
    inside = (angle > deg[0] + 1.0) & (angle < deg[-1] - 1.0)
    return drawn(
        "closed-cycle",
        "Compression, burn and expansion",
        "Cylinder pressure of the simulated engine against an independent integration of the first law.",
        "crank angle after top dead centre, deg",
        (-90.0, 90.0, 15.0),
        Panel(
            "cylinder pressure, bar",
            (
                exact("scipy", deg[::20], 1e-5 * pressure[::20]),
                ours("ours", angle[inside][::6], 1e-5 * trace[inside][::6]),
            ),
            60.0,
        ),
    )


def scavenging_models() -> Drawing:
    """Fresh part of the cylinder against charge supplied: the limits, the default, a curve of a model rig's form."""
    ratio = np.linspace(0.0, 2.0, 81)

    def blend(mixing: float) -> list[float]:
        return [scavenging.scavenging_efficiency(float(x), mixing) for x in ratio]

    rig = [scavenging.scavenging_efficiency_of_curve(float(x), 0.0, -1.0, -0.2) for x in ratio]
    lines = (
        exact("displacement", ratio, blend(0.0)),
        Line("curve 0, -1, -0.2", "edge", list(ratio), rig),
        ours("set to 0.7", ratio, blend(0.7), dots=False),
        exact("mixing", ratio, blend(1.0)),
    )
    return drawn(
        "scavenging",
        "How fresh charge drives burned gas out",
        "Scavenging efficiency against scavenge ratio between the two limits of Hopkinson.",
        "charge supplied over cylinder volume",
        (0.0, 2.0, 0.2),
        Panel("fresh part of the cylinder", lines, 60.0, high=1.0),
    )


def grid() -> Drawing:
    """Mean pressure and delivery of the invented engine against the length of the cells."""
    cells = (5.0, 7.5, 10.0, 15.0, 20.0)
    runs = [simulate(engine(reed=True), 9500.0, Settings(cell_m=c / 1e3)) for c in cells]
    mean, delivery = [1e-5 * r.imep_pa for r in runs], [r.delivery_ratio for r in runs]
    return drawn(
        "grid",
        "What the length of the cells changes",
        "Mean indicated pressure and delivery ratio at 9500 rpm; 10 mm is the default, 5 mm the finest here.",
        "length of the cells, mm",
        (0.0, 20.0, 5.0),
        Panel("mean pressure, % of that with 5 mm", (ours("ours", cells, _percent(mean)),), 34.0, 95.0, 105.0),
        Panel("delivery ratio, % of that with 5 mm", (ours("ours", cells, _percent(delivery)),), 34.0, 95.0, 105.0),
    )


def _percent(values: Numbers) -> list[float]:
    return [100.0 * value / values[0] for value in values]


def losses() -> Drawing:
    """Speed in a duct past a throttle against Borda and Carnot."""
    shares = (0.15, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.85)
    area = math.pi / 4.0 * 0.03**2
    got = [speed_m_s([Section(0.2, 0.03, 0.03)], 500.0, opening_m2=share * area) for share in shares]
    fine = np.linspace(0.1, 1.0, 91)
    law = np.sqrt(2.0 * 500.0 / RHO / (1.0 + (1.0 / fine - 1.0) ** 2))
    return drawn(
        "losses",
        "Past a throttle",
        "Speed of slow flow through a duct that is partly shut, against the loss of a jet that mixes out.",
        "open part of the section",
        (0.0, 1.0, 0.1),
        Panel("speed, m/s", (exact("Borda and Carnot", fine, law), ours("ours", shares, got)), 45.0),
    )


def scaling() -> Drawing:
    """Indicated pressure against the pressure of the air outside, at one speed and temperature."""
    from scribeline.cycle.engine import Conditions

    pressures = (700.0, 800.0, 900.0, 1013.25)
    coarse = {"cell_m": 0.015, "knobs": Knobs()}
    runs = [simulate(engine(), 8000.0, Settings(air=Conditions(p_pa=100.0 * hpa), **coarse)) for hpa in pressures]
    mean = [1e-5 * r.imep_pa for r in runs]
    law = [mean[-1] * hpa / pressures[-1] for hpa in pressures]
    return drawn(
        "density",
        "Thin air",
        "Mean indicated pressure against the barometer; it should go with the density of the air.",
        "air outside, hPa",
        (700.0, 1050.0, 50.0),
        Panel("mean pressure, bar", (exact("in proportion", pressures, law), ours("ours", pressures, mean)), 45.0),
    )


FIGURES: dict[str, Callable[[], Drawing]] = {
    "sod": sod,
    "order": order,
    "resonances": resonances,
    "nozzle": nozzle,
    "port-flow": port_flow,
    "losses": losses,
    "blowdown": blowdown,
    "closed-cycle": closed_cycle,
    "scavenging": scavenging_models,
    "grid": grid,
    "density": scaling,
}


def main() -> None:
    FOLDER.mkdir(parents=True, exist_ok=True)
    for name, draw in FIGURES.items():
        (FOLDER / f"{name}.svg").write_text(write_svg(draw()), encoding="utf-8")
        print(f"docs/pictures/validation/{name}.svg")


if __name__ == "__main__":
    main()
