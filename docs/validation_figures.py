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

from scribeline.cycle.along import power_curve  # noqa: E402
from scribeline.cycle.engine import Knobs, Section  # noqa: E402
from scribeline.cycle.simulate import Settings, simulate  # noqa: E402
from scribeline.kernels.boundaries import nozzle_flow  # noqa: E402
from scribeline.kernels.gas import cv_mixture, gas_constant  # noqa: E402
from scribeline.marking.curve_plot import CurvePlot, Line, Panel, curve_plot  # noqa: E402
from scribeline.marking.shapes import Drawing, Role  # noqa: E402
from scribeline.marking.svg import write_svg  # noqa: E402
from scribeline.models import scavenging  # noqa: E402
from tests.cycle.invented import engine  # noqa: E402
from tests.cycle.test_simulate import closed_part  # noqa: E402
from tests.reference import test_11_cycle_end_to_end as whole  # noqa: E402
from tests.reference.checks import load  # noqa: E402
from tests.validation import test_trends as trends  # noqa: E402
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


def riemann() -> Drawing:
    """Density of Toro's five problems with 100 cells."""
    panels = []
    for number in range(1, 6):
        given = GAS[f"riemann-profile-{number}"].inputs
        left, right, x0, t = tuple(given["left"]), tuple(given["right"]), given["x0"], given["t"]
        edges, got = tube(100, left, right, x0, t)
        fine = np.linspace(0.0, 1.0, 1200)
        want = sample(left, right, 1.4, (fine - x0) / t)
        lines = (exact("exact", fine, want[0]), ours("100 cells", 0.5 * (edges[1:] + edges[:-1]), got[0]))
        panels.append(Panel(f"density, problem {number}", lines, 26.0))
    said = "Density of Toro's five Riemann problems against the exact solutions."
    return drawn("riemann", "Five standard problems", said, "place", (0.0, 1.0, 0.1), *panels)


def contact() -> Drawing:
    """A jump in density and kind of gas carried along, and what is fresh behind the shock of Sod's tube."""
    edges, got = tube(200, (1.0, 0.5, 1.0), (0.1, 0.5, 1.0), 0.25, 0.8, fresh=(1.0, 0.0))
    middle = 0.5 * (edges[1:] + edges[:-1])
    carried = [0.0, 0.65, 0.65, 1.0]
    _, sod_got = tube(200, *SOD, 0.5, 0.2, fresh=(1.0, 0.0))
    front = 0.68549052400979  # 04_gas_dynamics, sod-t02
    return drawn(
        "contact",
        "Where two gases meet",
        "Density and fresh share at a contact that is carried along, and the fresh share in Sod's shock tube.",
        "place",
        (0.0, 1.0, 0.1),
        Panel("density", (exact("exact", carried, [1.0, 1.0, 0.1, 0.1]), ours("200 cells", middle, got[0])), 28.0),
        Panel(
            "fresh gas per volume",
            (exact("exact", carried, [1.0, 1.0, 0.0, 0.0]), ours("200 cells", middle, got[0] * got[3])),
            28.0,
        ),
        Panel(
            "fresh share, shock tube",
            (
                exact("exact", [0.0, front, front, 1.0], [1.0, 1.0, 0.0, 0.0]),
                ours("200 cells", middle, sod_got[3]),
            ),
            28.0,
        ),
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


def step() -> Drawing:
    """What of a sound wave returns from a sudden step in area, and what goes on."""
    ratios = (0.02, 0.1, 0.25, 0.5, 1.0, 2.0, 4.0, 10.0, 50.0)
    got = [acoustics.at_a_step(10.0 / ratio, 10.0) for ratio in ratios]
    decades = [math.log10(ratio) for ratio in ratios]
    fine = np.linspace(-1.7, 1.7, 171)
    back, on = (1.0 - 10.0**fine) / (1.0 + 10.0**fine), 2.0 / (1.0 + 10.0**fine)
    return drawn(
        "step",
        "A sudden step in area",
        "Height of the reflected and of the passed sound wave against acoustics.",
        "area behind the step over that before it, powers of ten",
        (-2.0, 2.0, 0.5),
        Panel("reflected", (exact("acoustics", fine, back), ours("ours", decades, [r for r, _ in got])), 34.0),
        Panel("passed on", (exact("acoustics", fine, on), ours("ours", decades, [t for _, t in got])), 34.0),
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


def gases() -> Drawing:
    """Heat capacity of fresh charge and burned gas, as the loop uses it, against Cantera and its mechanism."""
    import cantera as ct

    from tests.models.test_gases_elsewhere import cantera_of, gp

    law, reference = gp.gas_law(1.15), ct.Solution("gri30.yaml")
    fine = np.linspace(300.0, 2800.0, 26)
    burned, air = gp.burned_gas(1.15), gp.dry_air()
    theirs = [[float(cantera_of(reference, one, t).cp_mass) for t in fine] for one in (burned, air)]
    loop = [float(cv_mixture(law, t, 0.0) + gas_constant(law, 0.0)) for t in fine]
    panels = [
        Panel(f"{words}, J/(kg K)", (exact("Cantera", fine, want), ours("ours", fine, got)), 34.0, 900.0)
        for words, want, got in (
            ("burned gas", theirs[0], loop),
            ("dry air", theirs[1], [air.cp_j_kgk(t) for t in fine]),
        )
    ]
    return drawn(
        "gases",
        "Heat capacity of the gas",
        "Heat capacity at constant pressure of burned gas of a rich mixture, as the time loop uses it, and of air.",
        "temperature, K",
        (300.0, 2800.0, 500.0),
        *panels,
    )


def otto() -> Drawing:
    """Efficiency of a sealed cylinder whose charge burns at once, and its peak pressure with no fire."""
    ratios = np.array([6.0, 8.0, 10.0, 12.0, 14.0])
    fine = np.linspace(6.0, 14.0, 81)
    burn = {"heat_j": 100.0, "start_deg": -0.1, "duration_deg": 0.2, "most_step_deg": 0.05}
    fired = [100.0 * whole.sealed(float(r), 1.4, **burn)["work_j"] / 100.0 for r in ratios]
    motored = [1e-5 * whole.sealed(float(r), 1.4)["peak_pressure_pa"] for r in ratios]
    return drawn(
        "otto",
        "A sealed cylinder",
        "Efficiency with all heat at top dead centre, and peak pressure without fire, against closed forms.",
        "compression ratio",
        (6.0, 14.0, 1.0),
        Panel("efficiency, %", (exact("Otto", fine, 100.0 - 100.0 * fine**-0.4), ours("ours", ratios, fired)), 34.0),
        Panel("peak, bar", (exact("adiabat", fine, fine**1.4), ours("ours", ratios, motored)), 34.0),
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


def settling() -> Drawing:
    """The four quantities that convergence is judged by, revolution by revolution from a cold start, over their end."""
    got = simulate(whole.BASE, 9500.0, Settings(tolerance=5e-4, most_cycles=300, flush=1.0))
    count = min(len(got.history), 30)
    share = 100.0 * got.history[:count] / got.history[-1]
    turns = range(1, count + 1)
    words = ("work of a revolution", "trapped mass", "mass in the crankcase", "energy in the pipe")
    panels = [
        Panel(f"{what}, % of its end", (ours("ours", turns, share[:, i], dots=False),), 24.0, 95.0, 105.0)
        for i, what in enumerate(words)
    ]
    said = "Work, trapped mass, crankcase mass and pipe energy by revolution, from cold, over what they come to."
    return drawn("settling", "How a run settles", said, "revolutions", (0.0, 30.0, 5.0), *panels)


def sweeps() -> Drawing:
    """Mean pressure swept from slow to fast and from fast to slow."""
    speeds = [float(v) for v in range(7000, 10501, 500)]
    up = power_curve(engine(), speeds, threads=1)
    down = power_curve(engine(), speeds[::-1], threads=1)[::-1]
    lines = (
        Line("upwards", "today", speeds, [1e-5 * r.imep_pa for r in up], dots=True),
        ours("downwards", speeds, [1e-5 * r.imep_pa for r in down]),
    )
    return drawn(
        "sweeps",
        "From slow to fast and back",
        "Mean indicated pressure of one engine, each speed started from its slower or from its faster neighbour.",
        "crank speed, rev/min",
        (7000.0, 10500.0, 500.0),
        Panel("mean pressure, bar", lines, 45.0, 5.0, 7.0),
    )


def tuning() -> Drawing:
    """Where the band lies when one thing is changed: the speeds around the best with over 80 % of its power."""

    def power(variant: str, role: Role) -> Line:
        results = trends.curve(variant)
        best = max(r.power_w for r in results)
        at = [r.power_w for r in results].index(best)
        weak = [i for i, r in enumerate(results) if r.power_w < 0.8 * best]
        first, last = (
            max((i for i in weak if i < at), default=-1),
            min((i for i in weak if i > at), default=len(results)),
        )
        near = results[first + 1 : last]
        return Line(variant, role, [r.speed_rpm for r in near], [1e-3 * r.power_w for r in near], dots=True)

    pairs = (
        ("pipe 5 % longer", "pipe 5 % shorter"),
        ("pipe 10 % longer", "as it is"),
        ("as it is", "exhaust 186 deg"),
        ("cold pipe", "hot pipe"),
    )
    panels = [
        Panel("power, kW", (power(low, "today"), power(high, "target")), 30.0, from_zero=False) for low, high in pairs
    ]
    said = "Power of the invented reed engine when pipe length, exhaust duration or the heat of the pipe is changed."
    return drawn("tuning", "What moves the band", said, "crank speed, rev/min", (7000.0, 12000.0, 500.0), *panels)


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
    "riemann": riemann,
    "contact": contact,
    "order": order,
    "resonances": resonances,
    "step": step,
    "nozzle": nozzle,
    "port-flow": port_flow,
    "losses": losses,
    "blowdown": blowdown,
    "gases": gases,
    "otto": otto,
    "closed-cycle": closed_cycle,
    "scavenging": scavenging_models,
    "grid": grid,
    "density": scaling,
    "settling": settling,
    "sweeps": sweeps,
    "tuning": tuning,
}


def main() -> None:
    FOLDER.mkdir(parents=True, exist_ok=True)
    for name, draw in FIGURES.items():
        (FOLDER / f"{name}.svg").write_text(write_svg(draw()), encoding="utf-8")
        print(f"docs/pictures/validation/{name}.svg")


if __name__ == "__main__":
    main()
