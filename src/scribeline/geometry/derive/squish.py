"""Card lines of the squish: gap round the bore, tilt, band area, and how fast the charge is squeezed out of it."""

import numpy as np

from scribeline.engine import EngineRecord
from scribeline.geometry import squish
from scribeline.geometry.derive.bottom_end import CRANK
from scribeline.geometry.working import FloatArray, Workings

TRAPPED_TEMPERATURE = "charge_temperature_at_closing_k"


def derive_squish(w: Workings, record: EngineRecord) -> None:
    """Gap from solder or from the deck, and the squish velocity where the band is known."""
    ways = []
    if record.squish is not None:
        ways.append((_from_solder(w, record), "by solder"))
    if record.head.band_recess_mm is not None and w.knows("deck_clearance_mm"):
        w.derive(
            "squish_gap_from_deck_mm",
            "squish gap from deck, gasket and band recess",
            "mm",
            "c + g + u",
            {"c": "deck_clearance_mm", "g": "head_gasket_mm", "u": "head.band_recess_mm"},
            lambda deck, gasket, recess: deck + gasket + recess,
            inner=True,
        )
        ways.append(("squish_gap_from_deck_mm", "from deck, gasket and recess"))
    if w.first_of("squish_gap_mm", "squish gap at the bore wall, mean", "mm", ways) is None:
        w.lacks("squish_gap_mm", "squish gap at the bore wall, mean", "mm", "no solder readings and no band recess")
    if record.head.squish_inner_mm is None:
        why = "the squish band's inner diameter is not in the record"
        w.lacks("squish_area_ratio", "squish band area over bore area", "share", why)
        w.lacks("squish_velocity_max_m_s", "highest squish velocity", "m/s", why)
        return
    band = {"Do": "head.squish_outer_mm", "Di": "head.squish_inner_mm", "B": "cylinder.bore_mm"}
    w.assume(
        "head.squish_outer_mm", record.cylinder.bore_mm.value, "mm", "no outer diameter of the band: taken as the bore"
    )
    w.derive(
        "squish_area_ratio",
        "squish band area over bore area",
        "share",
        "(min(Do, B)² − Di²) / B²",
        band,
        lambda outer, inner, bore: squish.squish_area_ratio(bore, np.minimum(outer, bore), inner),
    )
    if w.knows("squish_gap_mm", "clearance_volume_cc"):
        _velocity(w)
    else:
        why = "needs the squish gap and the volume above the piston"
        w.lacks("squish_velocity_max_m_s", "highest squish velocity", "m/s", why)


def _from_solder(w: Workings, record: EngineRecord) -> str:
    assert record.squish is not None
    places = [f"squish.readings.{n}" for n in range(1, len(record.squish.readings) + 1)]
    inputs = {f"z{n}": f"{place}.gap_mm" for n, place in enumerate(places, start=1)}
    gasket = {} if record.squish.head_gasket_fitted else {"g": "head_gasket_mm"}
    clocks = [reading.clock_deg.value for reading in record.squish.readings]
    listed = ", ".join(inputs)
    plus = "" if record.squish.head_gasket_fitted else " + g"
    count = len(places)

    latest: list[tuple[tuple[FloatArray, ...], squish.SolderPlane]] = []

    def plane(*mm: FloatArray) -> squish.SolderPlane:
        """The plane through the readings, with the head gasket added where it was not under them.

        Three lines of the card ask for it with the same arrays: the latest answer is kept.
        """
        if not latest or any(now is not before for now, before in zip(mm, latest[0][0], strict=True)):
            gaps = np.stack(mm[:count], axis=-1) + (mm[count][..., np.newaxis] if gasket else 0.0)
            latest[:] = [(mm, squish.solder_plane(clocks, gaps))]
        return latest[0][1]

    known = plane(*(np.array([0.5]) for _ in range(count + len(gasket))))
    short = f" ({known.not_known})" if known.not_known else ""
    w.derive(
        "squish_gap_by_solder_mm",
        "squish gap at the bore wall by solder, mean",
        "mm",
        f"mean height of the plane through {listed}{plus}",
        {**inputs, **gasket},
        lambda *mm: plane(*mm).mean_mm,
        "measured",
        inner=True,
    )
    w.derive(
        "squish_gap_min_mm",
        f"squish gap at the tightest place round the bore{short}",
        "mm",
        f"lowest place of the plane through {listed}{plus}, or the smallest reading where that is less",
        {**inputs, **gasket},
        lambda *mm: np.minimum(plane(*mm).smallest_mm, np.min(mm[:count], axis=0) + (mm[count] if gasket else 0.0)),
    )
    if known.known != "places":
        w.derive(
            "squish_tilt_mm",
            f"squish tilt: widest less tightest place across the bore{short}",
            "mm",
            f"tilt of the plane through {listed}",
            {**inputs, **gasket},
            lambda *mm: plane(*mm).tilt_mm,
        )
    return "squish_gap_by_solder_mm"


def _velocity(w: Workings) -> None:
    w.assume("head.band_angle_deg", 0.0, "deg", "no band angle measured: band taken as flat")
    w.assume("head.crown_angle_deg", 0.0, "deg", "no crown angle measured under the band: taken as flat")
    inputs = {
        **CRANK,
        "N": "speed_rpm",
        "B": "cylinder.bore_mm",
        "Do": "head.squish_outer_mm",
        "Di": "head.squish_inner_mm",
        "z": "squish_gap_mm",
        "β": "head.band_angle_deg",
        "κ": "head.crown_angle_deg",
        "Vc": "clearance_volume_cc",
    }
    formula = "largest v(θ) = dx/dt · (As·V − A·Vs) / (V · π·Di·zi) on the up stroke"
    uniform = squish.peak_squish_velocity_m_s
    w.derive(
        "squish_velocity_max_m_s",
        "highest squish velocity, one density throughout",
        "m/s",
        formula,
        inputs,
        lambda *a: uniform(*_operands(*a)).velocity_m_s,
        "heywood-1988",
    )
    w.derive(
        "squish_velocity_max_deg_btdc",
        "crank angle of the highest squish velocity before top dead centre",
        "deg",
        "θ of the " + formula,
        inputs,
        lambda *a: uniform(*_operands(*a)).deg_before_tdc,
        "heywood-1988",
        inner=True,
    )
    if not w.knows("trapped_volume_cc"):
        return
    w.assume(TRAPPED_TEMPERATURE, 400.0, "K", "charge temperature when the exhaust closes: judgement, no source", 60.0)
    compressible = squish.peak_squish_velocity_compressible_m_s
    w.derive(
        "squish_velocity_compressible_max_m_s",
        "highest squish velocity, compressible",
        "m/s",
        "largest v with v · (1 − (γ−1)/2 · v²/c²)^(1/(γ−1)) = v(θ) of one density; c from T at closing volume Vt",
        {**inputs, "Vt": "trapped_volume_cc", "T": TRAPPED_TEMPERATURE},
        lambda *a: compressible(*_operands(*a[:11]), *a[11:]).velocity_m_s,
        "heywood-1988",
        inner=True,
    )


def _operands(*a: FloatArray) -> tuple[FloatArray, ...]:
    """Crank, speed and head as the squish functions take them: the band no wider than the bore, angles subtracted."""
    *crank_and_speed, bore, outer, inner, gap, band, crown, clearance = a
    return (*crank_and_speed, bore, np.minimum(outer, bore), inner, gap, band - crown, clearance)
