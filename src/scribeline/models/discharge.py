"""Discharge coefficients: how much of a port's drawn area the flow really uses.

Constants by kind of port and direction of flow. Common practice, no source: steady-flow benches usually find 0.6 to
0.85 for ports, more when barely open. All of them are knobs.
"""

EXHAUST_OUT, EXHAUST_IN = 0.75, 0.70
TRANSFER_OUT, TRANSFER_IN = 0.70, 0.75  # out of and into the transfer duct
INTAKE_OUT, INTAKE_IN = 0.75, 0.70  # out of and into the intake duct
REED_OUT, REED_IN = 0.70, 0.70
FUNNEL_OUT, FUNNEL_IN = 1.0, 0.95  # open end with a rounded lip; a plain cut pipe draws in with about 0.8
