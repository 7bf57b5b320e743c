"""Engines drawn by chance, to try a rule on what it was not chosen with. Invented: nobody built or chose them."""

import math
import sys
from pathlib import Path

import numpy as np

from scribeline.cycle.cylinder import Cylinder
from scribeline.cycle.engine import (
    PORT_COLUMNS,
    Engine,
    Reed,
    Section,
    Transfer,
    crown_window_m2,
    skirt_window_m2,
)

sys.path.insert(0, str(Path(__file__).parents[1]))
from tests.cycle.invented import PIPE

INTAKES = "piston port", "reed", "disc"


def fresh(number: int) -> tuple[Engine, list[float], str]:
    """An engine of 50 to 250 cm3, 20 speeds [rev/min] about the one its pipe is made for, and a word on it.

    number : which; the same one is drawn the same each time. Kinds of intake take turns.
    """
    rng = np.random.default_rng(number)
    between = rng.uniform
    intake, swept_cc = INTAKES[number % 3], 50.0 * 5.0 ** between()
    ratio = between(0.88, 1.1)  # stroke over bore
    bore = (swept_cc * 1e-6 * 4.0 / math.pi / ratio) ** (1.0 / 3.0)
    stroke = ratio * bore
    cylinder = Cylinder(bore, stroke, between(1.85, 2.2) * stroke, swept_cc * 1e-6 / between(10.5, 14.0))
    exhaust_deg = between(160.0, 196.0)
    transfer_deg = between(116.0, 134.0)
    opens, transfers_open = (math.radians(180.0 - 0.5 * deg) for deg in (exhaust_deg, transfer_deg))
    size = bore / 0.050
    speed_rpm = 9200.0 * between(0.85, 1.15) / size * exhaust_deg / 178.0
    along = 9200.0 / speed_rpm * exhaust_deg / 178.0
    port_m = 0.036 * size * between(0.92, 1.08)
    belly, tail = port_m * between(2.3, 3.0), port_m * between(0.56, 0.68)
    pipe = []
    at = port_m
    for i, part in enumerate(PIPE):
        end = (port_m, 1.14 * port_m, belly, belly, tail, tail)[i]
        pipe.append(Section(part.length_m * along * between(0.9, 1.1), at, end, part.wall_k + between(-60.0, 60.0)))
        at = end
    roof = cylinder.depth_m(transfers_open)
    groups = [
        Transfer(crown_window_m2(cylinder, roof, stroke, share * bore), between(0.055, 0.1) * size, area * size**2)
        for share, area in ((between(0.6, 0.75), 4.5e-4), (between(0.3, 0.45), 2.8e-4))[: 1 + number // 3 % 2]
    ]
    port, reed = skirt_window_m2(cylinder, 1.1 * bore, 1.43 * bore, 0.62 * bore, 1.11 * bore), None
    if intake == "reed":
        port = np.full(PORT_COLUMNS, 0.001 * size**2)
        reed = Reed(int(rng.integers(4, 9)), 0.034 * size, 0.02 * size, between(3.2e-4, 4.8e-4) * size, 0.009 * size)
    elif intake == "disc":
        deg = np.linspace(0.0, 360.0, PORT_COLUMNS)
        after_opening = (deg - 360.0 + between(128.0, 145.0)) % 360.0
        port = (
            6e-4 * size**2 * np.clip(np.minimum(after_opening, between(190.0, 215.0) - after_opening) / 35.0, 0.0, 1.0)
        )
    bore_m = 0.026 * size * between(0.9, 1.15)
    engine = Engine(
        cylinder=cylinder,
        case_at_tdc_m3=between(3.0, 4.5) * swept_cc * 1e-6,
        exhaust_opens_rad=opens,
        exhaust_area_m2=crown_window_m2(cylinder, cylinder.depth_m(opens), stroke, between(0.58, 0.72) * bore),
        exhaust=pipe,
        transfers=groups,
        intake=[
            Section(0.05 * size, 1.35 * bore_m, bore_m),
            Section(between(0.08, 0.15) * size, bore_m, 1.15 * bore_m),
        ],
        intake_area_m2=port,
        reed=reed,
        spark_deg_atdc=-between(12.0, 22.0),
    )
    speeds = np.linspace(0.6 * speed_rpm, 1.22 * speed_rpm, 20).round(1).tolist()
    return engine, speeds, f"{swept_cc:.0f} cm3, {intake}, exhaust {exhaust_deg:.0f} deg"
