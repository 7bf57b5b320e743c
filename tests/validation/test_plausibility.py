"""Figures outside the band that is known of small engines are flagged, and none inside it: 11_cycle_end_to_end.toml."""

from dataclasses import replace

from scribeline.cycle.plausible import remarks
from tests.reference.checks import Check, each
from tests.validation.test_trends import BASE, FILE, at_best


@each(FILE, "e2e-plausible")
def test_results_outside_the_known_band_are_flagged(check: Check) -> None:
    best = max(at_best(), key=lambda r: r.power_w)
    swept = BASE.cylinder.swept_m3
    low, high = check.expected["bmep_bar"]
    assert low <= best.bmep_pa * 1e-5 <= high
    power = best.power_w / swept * 1e-6
    low, high = check.expected["specific_power_kW_per_dm3"]
    said = " ".join(remarks(best, swept))
    assert ("kW per dm3" in said) == (not low <= power <= high)
    assert ("bsfc" in said) == (best.bsfc_g_kwh < check.expected["best_bsfc_g_kWh_not_below"])
    tame = replace(
        best, bmep_pa=6e5, power_w=40e6 * swept, bsfc_g_kwh=400.0, scavenging_efficiency=0.85, peak_deg_atdc=15.0
    )
    assert remarks(tame, swept) == []
    assert len(remarks(replace(tame, scavenging_efficiency=0.99), swept)) == 1
    assert len(remarks(replace(tame, bmep_pa=15e5, bsfc_g_kwh=200.0), swept)) == 2
    for angle in (5.0, 25.0):
        (said,) = remarks(replace(tame, peak_deg_atdc=angle), swept)
        assert f"{angle:g} degrees after top dead centre" in said
