"""What is taken where nobody measured it: judgement, no source, all of it, and listed with the run that takes it.

Nothing here is a knob: whoever knows better measures it, and the record then says so.
"""

AFR = 13.0  # mass of air to mass of fuel: rich for best power and a cool piston; 12 to 14 are usual
OCTANE = 95.0
# Inside surfaces at full load [K].
PORT_WALL_K, PIPE_END_WALL_K = 600.0, 450.0
CYLINDER_WALL_K = {"air": 450.0, "fan": 440.0, "water": 420.0}
TRANSFER_WALL_K, INTAKE_WALL_K = 380.0, 310.0
PASSAGE_OVER_STROKE = 1.5  # length of a transfer passage
TRACT_OVER_BORE = 4.0  # length of an intake tract
STOP_OVER_PETAL = 0.3  # lift of a reed petal at its stop
AIRBOX_MOUTH = 1.0  # diameter of an airbox's mouth over that of the intake
