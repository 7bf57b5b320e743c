"""Card lines of the crankcase: its volume at bottom dead centre by each way, and its compression ratio."""

from scribeline.engine import EngineRecord
from scribeline.geometry import volumes
from scribeline.geometry.working import Workings


def derive_crankcase(w: Workings, record: EngineRecord) -> None:
    """Volume under the piston at bottom dead centre, and how far the down stroke squeezes it."""
    ways = []
    if record.crankcase.volume_at_bdc_cc is not None:
        w.derive(
            "crankcase_volume_filled_bdc_cc",
            "crankcase volume at bottom dead centre, filled there",
            "cc",
            "V",
            {"V": "crankcase.volume_at_bdc_cc"},
            lambda volume: volume,
            "measured",
            inner=True,
        )
        ways.append(("crankcase_volume_filled_bdc_cc", "filled at bottom dead centre"))
    if record.crankcase.volume_at_tdc_cc is not None:
        w.derive(
            "crankcase_volume_filled_tdc_cc",
            "crankcase volume at bottom dead centre, filled at top dead centre",
            "cc",
            "Vt − V",
            {"Vt": "crankcase.volume_at_tdc_cc", "V": "swept_volume_cc"},
            lambda at_tdc, swept: at_tdc - swept,
            inner=True,
        )
        ways.append(("crankcase_volume_filled_tdc_cc", "filled at top dead centre, less the swept volume"))
    if record.crankcase.estimate is not None:
        at = "crankcase.estimate"
        w.derive(
            "crankcase_volume_estimated_cc",
            "crankcase volume at bottom dead centre, estimated",
            "cc",
            "π/4 · D² · b / 1000 − m + k + p",
            {
                "D": f"{at}.chamber_bore_mm",
                "b": f"{at}.chamber_width_mm",
                "m": f"{at}.crank_and_rod_cc",
                "k": f"{at}.passages_cc",
                "p": f"{at}.under_piston_cc",
            },
            volumes.crankcase_estimate_cc,
            inner=True,
        )
        ways.append(("crankcase_volume_estimated_cc", "estimated from its dimensions"))
    if w.first_of("crankcase_volume_bdc_cc", "crankcase volume at bottom dead centre", "cc", ways) is None:
        w.lacks(
            "crankcase_compression_ratio",
            "crankcase compression ratio",
            "ratio",
            "no crankcase volume: fill it at bottom or top dead centre, or estimate it",
        )
        return
    w.derive(
        "crankcase_compression_ratio",
        "crankcase compression ratio",
        "ratio",
        "(K + V) / K",
        {"V": "swept_volume_cc", "K": "crankcase_volume_bdc_cc"},
        volumes.crankcase_compression_ratio,
        "definition",
    )
