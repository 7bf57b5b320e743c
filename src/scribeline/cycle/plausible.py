"""Is a result within what small engines are known to do? Outside is not wrong, but it is said."""

from scribeline.cycle.simulate import CycleResult
from scribeline.models.known_band import (
    BMEP_BAR,
    BSFC_NOT_BELOW_G_KWH,
    PEAK_DEG_ATDC,
    SCAVENGING_NOT_ABOVE,
    SPECIFIC_POWER_KW_DM3,
)


def remarks(best: CycleResult, swept_m3: float) -> list[str]:
    """Sentences about everything in the speed of best power that lies outside the band; empty where nothing does.

    swept_m3 : swept volume [m^3]
    """
    said = []
    bmep = 1e-5 * best.bmep_pa
    if not BMEP_BAR[0] <= bmep <= BMEP_BAR[1]:
        said.append(f"bmep {bmep:.1f} bar is outside {BMEP_BAR[0]:g} to {BMEP_BAR[1]:g} bar, known of small engines")
    power = 1e-6 * best.power_w / swept_m3
    low, high = SPECIFIC_POWER_KW_DM3
    if not low <= power <= high:
        said.append(f"{power:.0f} kW per dm3 is outside {low:g} to {high:g}; only racing engines are above")
    if best.bsfc_g_kwh < BSFC_NOT_BELOW_G_KWH:
        said.append(
            f"bsfc {best.bsfc_g_kwh:.0f} g/kWh is below {BSFC_NOT_BELOW_G_KWH:g}, the best known of small engines"
        )
    if best.scavenging_efficiency > SCAVENGING_NOT_ABOVE:
        said.append(
            f"scavenging efficiency {best.scavenging_efficiency:.2f} is above {SCAVENGING_NOT_ABOVE:g}: the blend "
            "between pushing out and mixing flatters this engine, and its power with it"
        )
    early, late = PEAK_DEG_ATDC
    if not early <= best.peak_deg_atdc <= late:
        said.append(
            f"peak pressure {best.peak_deg_atdc:.0f} degrees after top dead centre is outside {early:g} to {late:g}, "
            "where it lies with the spark that gives most: the spark does not fit the burn as it is simulated"
        )
    return said
