"""From a photograph of a pencil rubbing to port outlines in millimetres on the unrolled bore.

photograph : a file opened with care, upright and grey
markers    : where the printed markers of a sheet stand, known from their numbers alone
flattening : the paper found in the picture: perspective and the lens taken out
scanning   : the same for a flat scan, its scale from the file or from a ruler laid beside
edges      : light openings in the rubbed grey, their edges to a fraction of a pixel
outlines   : the fewest numbers that describe an edge: rounded rectangle, rounded polygon, else points
reading    : all of these in a row, with a reason where one of them cannot be trusted

Paper coordinates everywhere: millimetres to the right (clockwise seen from above) from the middle of the exhaust, and
millimetres down from the deck.
"""
