"""What small two-strokes are known to do; a result outside it is flagged, not hidden. See cycle/plausible.py."""

# heywood-1988, table of small-engine figures, from memory: engines without racing parts near their best.
BMEP_BAR = (4.0, 10.1)
SPECIFIC_POWER_KW_DM3 = (20.0, 60.0)
BSFC_NOT_BELOW_G_KWH = 350.0
# Judgement, no source: ports that swap this much of the gas are not known, so more comes from the mixing knob.
SCAVENGING_NOT_ABOVE = 0.95
# heywood-1988, from memory: with the spark that gives most torque the peak lies about 16 degrees after top dead centre;
# how far around that counts as usual is judgement.
PEAK_DEG_ATDC = (8.0, 22.0)
