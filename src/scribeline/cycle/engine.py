"""An engine as the simulation needs it, in SI, and its translation into the tables of the time loop.

Plain measurements in, tables out. One cylinder, its crankcase, an exhaust pipe, transfer ducts, an intake with a
piston-controlled port, a disc (any area table) or a reed. How areas follow from drawn ports is geometry's business; the
two simple windows here serve tests and first estimates.
"""

import math
from dataclasses import dataclass, fields, replace

import numpy as np

from scribeline.cycle import turning as tn
from scribeline.cycle.cylinder import Cylinder
from scribeline.cycle.layout import Duct, End, Network, Volume, aligned, lay_out
from scribeline.errors import CycleError
from scribeline.kernels.gas import FloatArray, gas_constant
from scribeline.kernels.network import MEETS, IntArray
from scribeline.models import (
    annand,
    discharge,
    duct_walls,
    friction,
    fuel,
    gas_properties,
    reed,
    resonance,
    scavenging,
    usual,
    wiebe,
)
from scribeline.models.cell_length import CHARGE_K, EXHAUST_K, cell_length_m
from scribeline.models.relation import Knob

LONGEST_CELL_M = 0.05
PORT_COLUMNS = 721  # every half degree, last equal to first
STEP = 0.05  # relative difference of diameters above which a joint is a step and not a cone of one cell
THROTTLE_CELLS = 6  # over which the loss of a throttle is spread, so that one step never takes all of the momentum


@dataclass(frozen=True)
class Section:
    """One cone or tube of a duct, in the direction from its left end: length and inside diameters [m], wall [K].

    bend_loss : K of its bends, pressure loss in units of rho u^2/2 [-]; it is spread evenly over the length
    bend_tightness : inside diameter over twice the middle line's radius [-], for the record of what was relied on
    """

    length_m: float
    from_m: float
    to_m: float
    wall_k: float = 350.0
    bend_loss: float = 0.0
    bend_tightness: float = 0.0


@dataclass(frozen=True)
class Transfer:
    """One group of equal transfer ports with their ducts taken together.

    area_m2 : open area over one revolution from top dead centre, shape (PORT_COLUMNS,) [m^2]
    length_m : mean length of the ducts [m]; duct_area_m2 : their cross section together [m^2]; wall_k : [K]
    """

    area_m2: FloatArray
    length_m: float
    duct_area_m2: float
    wall_k: float = usual.TRANSFER_WALL_K


@dataclass(frozen=True)
class Reed:
    """A reed block: its petals, all alike. Lengths [m], modulus [Pa], density [kg/m^3]."""

    petals: int
    length_m: float
    width_m: float
    thickness_m: float
    stop_m: float
    modulus_pa: float = 20e9
    density_kg_m3: float = 1850.0
    damping: float = reed.DAMPING
    """Of its first bending mode, over critical [-]."""


@dataclass(frozen=True)
class Chamber:
    """A box of air with walls that take no heat, and the tube from it to the open air.

    volume_m3 : [m^3]; tube : its sections in the direction away from the box
    """

    volume_m3: float
    tube: list[Section]


@dataclass(frozen=True)
class Engine:
    """Everything that is simulated; diameters inside, temperatures of walls as assumed.

    case_at_tdc_m3 : crankcase volume with the piston at top dead centre [m^3]
    exhaust_area_m2, intake_area_m2 : open area over one revolution, shape (PORT_COLUMNS,) [m^2]
    exhaust_opens_rad : crank angle after top dead centre at which the exhaust port opens; it closes as far before,
        or at exhaust_closes_rad, also counted from top dead centre, where an offset pin makes the two differ
    intake : from the mouth to the crankcase; exhaust : from the port to the open air
    reed : None for a piston port or a disc; intake_area_m2 is then the port, otherwise the clear area of the block
    throttle : open share of the intake's narrowest place, 0.1 to 1 [-]; venturi_m : diameter of that place where it
        is narrower than every section of `intake` [m]
    exhaust_under_skirt_m2 : open area of the exhaust port under the skirt near top dead centre, to the crankcase
    airbox, silencer : between the intake's mouth or the exhaust's end and the open air; None for none
    blow_by_m2 : area that leaks between cylinder and crankcase, as if it were a nozzle [m^2]
    """

    cylinder: Cylinder
    case_at_tdc_m3: float
    exhaust_opens_rad: float
    exhaust_area_m2: FloatArray
    exhaust: list[Section]
    transfers: list[Transfer]
    intake: list[Section]
    intake_area_m2: FloatArray
    reed: Reed | None = None
    spark_deg_atdc: float = -18.0
    throttle: float = 1.0
    afr: float = 13.0
    cylinder_wall_k: float = 450.0
    venturi_m: float | None = None
    squish_over_piston: float = wiebe.USUAL_SQUISH
    """Highest squish velocity over mean piston speed [-]."""
    exhaust_closes_rad: float | None = None
    exhaust_under_skirt_m2: FloatArray | None = None
    airbox: Chamber | None = None
    silencer: Chamber | None = None
    blow_by_m2: float = 0.0

    @property
    def closes_rad(self) -> float:
        """Crank angle after top dead centre at which the exhaust port closes [rad]."""
        opens = self.exhaust_opens_rad
        return 2.0 * math.pi - opens if self.exhaust_closes_rad is None else self.exhaust_closes_rad


@dataclass(frozen=True)
class Conditions:
    """Air outside: pressure [Pa], temperature [K], mole fraction of water vapour [-]."""

    p_pa: float = 101325.0
    t_k: float = 298.15
    vapour_share: float = 0.0


@dataclass(frozen=True)
class Knobs:
    """Calibration knobs with the values of models/, where each has its source and how far it may be turned; change them
    only for a reason. `octane` is no knob but the octane number that the knock integral is worked out with."""

    burn_deg: float = wiebe.BASE_DURATION_DEG
    wiebe_a: float = wiebe.SHAPE_A
    wiebe_m: float = wiebe.SHAPE_M
    squish_slope: float = wiebe.SQUISH_SLOPE
    annand_a: float = annand.A
    mixing: float = scavenging.MIXING
    scavenging_curve: tuple[float, float, float] | None = None
    """Coefficients of a measured curve, see models/scavenging.py; mixing then does nothing."""
    octane: float = 95.0
    fanning: float = duct_walls.FANNING
    analogy: float = duct_walls.ANALOGY
    combustion_efficiency: float = fuel.COMBUSTION_EFFICIENCY
    friction: float = friction.PA_PER_M_RPM
    open_end_radii: float = resonance.UNFLANGED_END_RADII
    """How much longer an open end makes a duct, in radii of its rim; 0 for no correction."""
    exhaust_out: float = discharge.EXHAUST_OUT
    exhaust_in: float = discharge.EXHAUST_IN
    transfer_out: float = discharge.TRANSFER_OUT
    transfer_in: float = discharge.TRANSFER_IN
    intake_out: float = discharge.INTAKE_OUT
    intake_in: float = discharge.INTAKE_IN
    reed_out: float = discharge.REED_OUT
    reed_in: float = discharge.REED_IN
    funnel_in: float = discharge.FUNNEL_IN
    barely_open: float = discharge.BARELY_OPEN
    throttle_coefficient: float = discharge.THROTTLE


# What models/ says of each, by its name in Knobs.
KNOBS: dict[str, Knob] = {
    knob.name: knob
    for model in (wiebe, annand, scavenging, discharge, duct_walls, friction, fuel, resonance)
    for knob in model.RELATION.knobs
}


@dataclass
class Tables:
    """Arguments of turning.turn for one engine at one speed."""

    network: Network
    port_of_end: IntArray
    ways: IntArray
    end_data: FloatArray
    ports: FloatArray
    numbers: FloatArray
    """Everything of the engine that is not of a cell, see turning; the network's volumes are the same memory."""
    pipe: IntArray
    intake_end: int
    """The end of the intake at the crankcase; its mouth is the next, and the ends of chambers' tubes follow."""
    reference_kg: float
    """Mass of fresh charge that would fill the swept volume at the conditions outside [kg]."""


def crown_window_m2(cylinder: Cylinder, roof_m: float, floor_m: float, width_m: float) -> FloatArray:
    """Open area of a rectangular port uncovered by the crown, shape (PORT_COLUMNS,) [m^2].

    roof_m, floor_m : depth of its edges below the crown at top dead centre [m]; width_m : width along the bore [m]
    """
    return width_m * np.clip(_depths(cylinder) - roof_m, 0.0, floor_m - roof_m)


def skirt_window_m2(cylinder: Cylinder, roof_m: float, floor_m: float, width_m: float, skirt_m: float) -> FloatArray:
    """Open area of a rectangular port uncovered by the skirt near top dead centre, shape (PORT_COLUMNS,) [m^2].

    skirt_m : height of the piston from crown edge to skirt edge on the port's side [m]
    """
    return width_m * np.clip(floor_m - (_depths(cylinder) + skirt_m), 0.0, floor_m - roof_m)


def _depths(cylinder: Cylinder) -> FloatArray:
    return np.array([cylinder.depth_m(a) for a in np.linspace(0.0, 2.0 * math.pi, PORT_COLUMNS)])


def check(engine: Engine, speed_rpm: float, cell_m: float, air: Conditions, knobs: Knobs) -> None:
    """Refuse what cannot be simulated, before anything is computed; raises CycleError."""

    def demand(name: str, value: float, good: bool, accepted: str) -> None:
        if not (good and math.isfinite(value)):
            raise CycleError(f"{name} = {value}: accepted is {accepted}")

    demand("speed_rpm", speed_rpm, 500.0 <= speed_rpm <= 30000.0, "500 to 30000")
    demand("cell_m", cell_m, 0.001 <= cell_m <= LONGEST_CELL_M, f"0.001 to {LONGEST_CELL_M}")
    for name, knob in KNOBS.items():
        value = getattr(knobs, name)
        demand(name, value, knob.low <= value <= knob.high, f"{knob.low:g} to {knob.high:g} {knob.unit}".rstrip())
    demand("octane", knobs.octane, 40.0 <= knobs.octane <= 130.0, "40 to 130")
    if knobs.scavenging_curve is not None:
        slope = knobs.scavenging_curve[1]
        demand("scavenging_curve: second coefficient", slope, slope < 0.0, "below 0: more charge must sweep out more")
    demand("air pressure [Pa]", air.p_pa, 5e4 <= air.p_pa <= 1.2e5, "50000 to 120000")
    demand("air temperature [K]", air.t_k, 240.0 <= air.t_k <= 330.0, "240 to 330")
    demand("share of water vapour", air.vapour_share, 0.0 <= air.vapour_share <= 0.12, "0 to 0.12")
    demand("throttle", engine.throttle, 0.1 <= engine.throttle <= 1.0, "0.1 to 1 of the bore open")
    squish = engine.squish_over_piston
    demand("squish_over_piston", squish, 0.0 <= squish <= 10.0, "0 to 10")
    if engine.venturi_m is not None:
        demand("venturi_m", engine.venturi_m, engine.venturi_m > 0.0, "above 0")
    demand("blow_by_m2", engine.blow_by_m2, 0.0 <= engine.blow_by_m2 < 1e-5, "0 to 1e-5 (10 mm2)")
    demand("afr", engine.afr, 9.2 <= engine.afr <= 29.0, "9.2 to 29 (mixture strength 0.5 to 1.6)")
    demand("exhaust_opens_rad", engine.exhaust_opens_rad, 0.9 < engine.exhaust_opens_rad < math.pi, "0.9 to 3.14")
    lowest = engine.case_at_tdc_m3 - engine.cylinder.swept_m3
    demand("case_at_tdc_m3", engine.case_at_tdc_m3, lowest > 0.0, "more than the swept volume")
    closes = engine.closes_rad
    demand("exhaust_closes_rad", closes, math.pi < closes < 2.0 * math.pi - 0.8, "3.14 to 5.48")
    rows = [("exhaust", engine.exhaust), ("intake", engine.intake)]
    for where, chamber in (("airbox", engine.airbox), ("silencer", engine.silencer)):
        if chamber is not None:
            demand(f"{where}: volume_m3", chamber.volume_m3, chamber.volume_m3 > 1e-5, "more than 1e-5 (10 cc)")
            rows.append((where, chamber.tube))
    for where, sections in rows:
        if not sections:
            raise CycleError(f"{where}: at least one section is needed")
        for i, part in enumerate(sections):
            for name in ("length_m", "from_m", "to_m", "wall_k"):
                value = getattr(part, name)
                demand(f"{where} section {i + 1}: {name}", value, value > 0.0, "above 0")
            demand(f"{where} section {i + 1}: bend_loss", part.bend_loss, part.bend_loss >= 0.0, "0 or more")
    if not engine.transfers:
        raise CycleError("transfers: at least one is needed")
    tables = [("exhaust_area_m2", engine.exhaust_area_m2), ("intake_area_m2", engine.intake_area_m2)]
    if engine.exhaust_under_skirt_m2 is not None:
        tables.append(("exhaust_under_skirt_m2", engine.exhaust_under_skirt_m2))
    for name, table in tables + [(f"transfer {i + 1}: area_m2", t.area_m2) for i, t in enumerate(engine.transfers)]:
        if table.shape != (PORT_COLUMNS,) or not np.all(table >= 0.0) or not table.max() > 0.0:
            raise CycleError(f"{name}: accepted are {PORT_COLUMNS} areas, none negative, not all 0")
    for i, t in enumerate(engine.transfers):
        demand(f"transfer {i + 1}: length_m", t.length_m, t.length_m > 0.0, "above 0")
        demand(f"transfer {i + 1}: duct_area_m2", t.duct_area_m2, t.duct_area_m2 > 0.0, "above 0")
    if engine.reed is not None:
        for name, value in vars(engine.reed).items():
            demand(f"reed: {name}", value, value > 0, "above 0 (a reed without it has no mass or no stiffness)")


def duct_of(
    sections: list[Section],
    cell_m: float,
    left: End,
    right: End,
    knobs: Knobs,
    *,
    open_end: bool,
    opening_m2: float | None = None,
) -> Duct:
    """Cut a row of sections into equal cells.

    open_end : lengthen the right end by the open-end correction; opening_m2 : an opening across the narrowest place,
    such as a throttle, that the flow must pass [m^2]: a loss of (A/A_opening - 1)^2 over THROTTLE_CELLS cells there.
    Where sections meet with diameters more than STEP apart the area changes at once, at the face that lies nearest.
    """
    lengths = [s.length_m for s in sections]
    if open_end:
        lengths[-1] += knobs.open_end_radii * 0.5 * sections[-1].to_m
    edges = np.concatenate([[0.0], np.cumsum(lengths)])
    count = max(round(edges[-1] / cell_m), 4)
    x = np.linspace(0.0, edges[-1], count + 1)
    place = np.clip(np.searchsorted(edges, x, side="right") - 1, 0, len(sections) - 1)
    start, end = np.array([s.from_m for s in sections]), np.array([s.to_m for s in sections])
    d = start[place] + (end - start)[place] * (x - edges[place]) / np.array(lengths)[place]
    middle = np.clip(np.searchsorted(edges, 0.5 * (x[1:] + x[:-1])) - 1, 0, len(sections) - 1)
    bore = 0.5 * (d[1:] + d[:-1])
    faces = 0.25 * math.pi * d * d
    steps: dict[int, tuple[float, float]] = {}
    for i, joint in enumerate(edges[1:-1]):
        before, after = 0.25 * math.pi * end[i] ** 2, 0.25 * math.pi * start[i + 1] ** 2
        if abs(math.log(before / after)) > 2.0 * STEP:
            face = min(max(round(joint / edges[-1] * count), 1), count - 1)
            first = steps[face][0] if face in steps else before
            faces[face] = min(before, after, faces[face] if face in steps else before)
            steps[face] = first, after
    friction = np.array(
        [
            duct_walls.friction_per_m(b, knobs.fanning, sections[i].bend_loss, lengths[i])
            for b, i in zip(bore, middle, strict=True)
        ]
    )
    if opening_m2 is not None:
        there = int(np.argmin(bore))
        first = min(max(there - THROTTLE_CELLS // 2, 0), max(count - THROTTLE_CELLS, 0))
        cells = slice(first, first + THROTTLE_CELLS)
        area = 0.25 * math.pi * bore[cells] ** 2
        loss = np.maximum(area / opening_m2 - 1.0, 0.0) ** 2
        friction[cells] += 0.5 * loss / (area.size * edges[-1] / count)
    return Duct(
        float(edges[-1]),
        faces,
        left,
        right,
        steps,
        friction_per_m=friction,
        heat_per_m=np.array([duct_walls.heat_per_m(b, knobs.fanning, knobs.analogy) for b in bore]),
        wall_k=np.array([sections[i].wall_k for i in middle]),
    )


def _opening_m2(engine: Engine, knobs: Knobs) -> float | None:
    """Area that the flow uses at the narrowest place of the intake [m^2]; None where nothing stands in its way."""
    narrowest = min(min(s.from_m, s.to_m) for s in engine.intake)
    if engine.throttle == 1.0 and (engine.venturi_m is None or engine.venturi_m >= narrowest):
        return None
    bore = min(narrowest, engine.venturi_m or narrowest)
    return discharge.throttle_area_m2(engine.throttle, 0.25 * math.pi * bore**2, knobs.throttle_coefficient)


def tables_of(
    engine: Engine,
    speed_rpm: float,
    cell_m: float,
    air: Conditions,
    knobs: Knobs,
    known: tuple[Engine, Tables] | None = None,
) -> Tables:
    """Everything `turning.turn` needs, with the engine filled for a cold start. Refuses bad input (CycleError).

    cell_m : length of the cells, in each duct by the gas that is expected there, see models.cell_length [m]
    known : an engine whose tables exist for the same cells, air and knobs; where this one differs in its spark alone,
    they serve as they are, with the gas they hold by now
    """
    phi = fuel.phi_of_afr(engine.afr)
    if known is not None and _same_but_spark(engine, known[0]) and 500.0 <= speed_rpm <= 30000.0:
        vapour = gas_properties.vapour_kg_per_kg(air.vapour_share)
        return _at_another_speed(known[1], _engine_vector(engine, speed_rpm, knobs, phi, vapour))
    check(engine, speed_rpm, cell_m, air, knobs)
    gas = gas_properties.gas_law(phi, air.vapour_share)
    cyl = engine.cylinder
    chambers = [(c, a) for c, a in ((engine.airbox, tn.INTAKE_AIR), (engine.silencer, tn.EXHAUST_AIR)) if c is not None]
    mouth_meets = tn.RIGID if engine.airbox is not None else tn.INTAKE_AIR
    tail_meets = tn.RIGID + len(chambers) - 1 if engine.silencer is not None else tn.EXHAUST_AIR
    hot_m, cold_m = cell_length_m(cell_m, EXHAUST_K), cell_length_m(cell_m, CHARGE_K)
    ducts = [duct_of(engine.exhaust, hot_m, End(tn.CYLINDER_AT_EXHAUST), End(tail_meets), knobs, open_end=True)]
    for t in engine.transfers:
        d = math.sqrt(4.0 * t.duct_area_m2 / math.pi)
        section = [Section(t.length_m, d, d, t.wall_k)]
        ducts.append(duct_of(section, cold_m, End(tn.CRANKCASE), End(tn.CYLINDER), knobs, open_end=False))
    mouth = [replace(s, from_m=s.to_m, to_m=s.from_m) for s in reversed(engine.intake)]
    across = _opening_m2(engine, knobs)
    ducts.append(duct_of(mouth, cold_m, End(tn.CRANKCASE), End(mouth_meets), knobs, open_end=True, opening_m2=across))
    last = 2 * (len(ducts) - 1)  # the intake's end at the crankcase; the next is its mouth
    for i, (chamber, outside) in enumerate(chambers):
        tube_m = hot_m if outside == tn.EXHAUST_AIR else cold_m
        ducts.append(duct_of(chamber.tube, tube_m, End(tn.RIGID + i), End(outside), knobs, open_end=True))
    closing = engine.closes_rad
    v_cyl = cyl.volume_m3(closing)
    v_case = engine.case_at_tdc_m3 - (v_cyl - cyl.clearance_m3)
    volumes = [
        Volume(air.p_pa, air.t_k, 1.0),
        Volume(air.p_pa, air.t_k, 0.0),
        Volume(1.1 * air.p_pa, 500.0, 0.6, v_cyl),
        Volume(air.p_pa, air.t_k + 30.0, 1.0, v_case),
        Volume(air.p_pa, 500.0, 0.0, v_cyl),
    ]
    for chamber, outside in chambers:
        warm, fresh = (air.t_k, 1.0) if outside == tn.INTAKE_AIR else (600.0, 0.0)
        volumes.append(Volume(air.p_pa, warm, fresh, chamber.volume_m3))
    net = lay_out(gas, ducts, volumes, air.p_pa, air.t_k)
    for i in range(len(ducts)):
        cells = net.spans[i].stop - net.spans[i].start
        burned = i == 0 or ducts[i].right.meets == tn.EXHAUST_AIR
        t_k, fresh = (650.0, 0.0) if burned else (air.t_k + 20.0, 1.0)
        rho = np.full(cells, air.p_pa / (gas_constant(gas, fresh) * t_k))
        net.set_duct(i, rho, np.zeros(cells), np.full(cells, air.p_pa), fresh)
    count = len(net.ends)
    port_of_end = np.full(count, tn.FIXED, np.int64)
    end_data = np.ones((3, count))
    end_data[2] = net.geo[2, net.ends[:, 3]]
    port_of_end[0] = 0
    end_data[:2, 0] = knobs.exhaust_in, knobs.exhaust_out  # out of the duct is into the cylinder
    for i in range(len(engine.transfers)):
        port_of_end[2 * i + 3] = 1 + i
        end_data[:2, 2 * i + 3] = knobs.transfer_out, knobs.transfer_in
    port_of_end[last] = tn.REED if engine.reed else len(engine.transfers) + 1
    at_intake = (knobs.reed_out, knobs.reed_in) if engine.reed else (knobs.intake_out, knobs.intake_in)
    end_data[:2, last] = at_intake
    for mouth_end in range(last + 1, count):
        end_data[:2, mouth_end] = discharge.FUNNEL_OUT, knobs.funnel_in
    drawn = [engine.exhaust_area_m2, *[t.area_m2 for t in engine.transfers], engine.intake_area_m2]
    ports = np.vstack([discharge.used_area_m2(area, knobs.barely_open) for area in drawn])
    vector = _engine_vector(engine, speed_rpm, knobs, phi, gas_properties.vapour_kg_per_kg(air.vapour_share))
    ways = np.full((count, 3), tn.NONE, np.int64)
    ways[:, tn.FIRST] = net.ends[:, MEETS]
    if engine.exhaust_under_skirt_m2 is not None:
        ways[0, 1:] = tn.CRANKCASE, len(ports)
        ports = np.vstack([ports, discharge.used_area_m2(engine.exhaust_under_skirt_m2, knobs.barely_open)])
    in_vector = vector[tn.VOLUMES : tn.STATES].reshape(4, tn.MOST_VOLUMES)[:, : net.sizes.size]
    in_vector[:] = net.volumes
    vector[tn.SIZES : tn.SIZES + net.sizes.size] = net.sizes
    net.volumes = in_vector
    pipe = np.array([net.spans[0].start, net.spans[0].stop], np.int64)
    reference = cyl.swept_m3 * air.p_pa / (gas_constant(gas, 1.0) * air.t_k)
    return Tables(net, port_of_end, ways, end_data, ports, vector, pipe, last, reference)


def _same_but_spark(one: Engine, other: Engine) -> bool:
    return all(
        getattr(one, part.name) is getattr(other, part.name) for part in fields(Engine) if part.name != "spark_deg_atdc"
    )


def _at_another_speed(tables: Tables, vector: FloatArray) -> Tables:
    """The same engine with another vector: what is only read is shared, what changes is copied."""
    old = tables.network
    kept = slice(tn.VOLUMES, tn.STATES)
    vector[kept], vector[tn.SIZES :] = tables.numbers[kept], tables.numbers[tn.SIZES :]
    volumes = vector[kept].reshape(4, tn.MOST_VOLUMES)[:, : old.sizes.size]
    q, w = aligned(*old.q.shape), aligned(*old.w.shape)
    q[:], w[:] = old.q, old.w
    net = replace(old, q=q, w=w, ends=old.ends.copy(), volumes=volumes)
    return replace(tables, network=net, numbers=vector)


def _engine_vector(engine: Engine, speed_rpm: float, knobs: Knobs, phi: float, vapour: float) -> FloatArray:
    v = np.zeros(tn.NUMBERS)
    cyl = engine.cylinder
    v[tn.SPEED_RAD_S] = speed_rpm * 2.0 * math.pi / 60.0
    v[tn.BORE_M], v[tn.STROKE_M], v[tn.ROD_M], v[tn.OFFSET_M] = cyl.bore_m, cyl.stroke_m, cyl.rod_m, cyl.offset_m
    v[tn.CLEARANCE_M3], v[tn.CASE_AT_TDC_M3], v[tn.PISTON_M2] = cyl.clearance_m3, engine.case_at_tdc_m3, cyl.area_m2
    v[tn.OPENS_RAD] = engine.exhaust_opens_rad
    v[tn.CLOSES_RAD] = engine.closes_rad
    v[tn.SPARK_DEG] = engine.spark_deg_atdc
    v[tn.BURN_BASE_DEG] = knobs.burn_deg * wiebe.squish_factor(engine.squish_over_piston, knobs.squish_slope)
    v[tn.WIEBE_A], v[tn.WIEBE_M] = knobs.wiebe_a, knobs.wiebe_m
    v[tn.HEAT_J_KG] = fuel.heat_of_charge_j_kg(phi, efficiency=knobs.combustion_efficiency, vapour_per_air=vapour)
    v[tn.WALL_K], v[tn.ANNAND_A], v[tn.MIXING], v[tn.OCTANE] = (
        engine.cylinder_wall_k,
        knobs.annand_a,
        knobs.mixing,
        knobs.octane,
    )
    if knobs.scavenging_curve is not None:
        v[tn.SCAVENGE_K0], v[tn.SCAVENGE_K1], v[tn.SCAVENGE_K2] = knobs.scavenging_curve
    v[tn.BLOW_BY_M2] = engine.blow_by_m2
    if engine.reed is not None:
        r = engine.reed
        k = reed.tip_stiffness_n_m(r.length_m, r.width_m, r.thickness_m, r.modulus_pa)
        hz = reed.natural_hz(r.length_m, r.thickness_m, r.modulus_pa, r.density_kg_m3)
        v[tn.REED_KG], v[tn.REED_N_M] = reed.tip_mass_kg(k, hz), k
        v[tn.REED_DAMPING], v[tn.REED_REBOUND], v[tn.REED_STOP_M] = r.damping, reed.REBOUND, r.stop_m
        v[tn.REED_FORCE_M2] = reed.tip_force_n(1.0, r.width_m, r.length_m)
        # open area per lift: the tip edge, and the two sides, which open from nothing at the clamp to the lift
        v[tn.REED_FLOW_M] = r.petals * (r.width_m + r.length_m)
        v[tn.REED_MOST_M2] = float(engine.intake_area_m2.max())
    else:
        v[tn.REED_KG] = v[tn.REED_N_M] = 1.0
    return v
