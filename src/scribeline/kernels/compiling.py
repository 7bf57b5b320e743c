"""How everything in a time loop is compiled: into one piece, and without counting who holds an array.

A table comes as some seven numbers (where it lies, how many rows, how far apart), and a pass over the cells takes up to
seven tables. Called as functions, passes and ends hand all of them over at every step, and the compiler does not know
what they leave alone; written into the loop (`forceinline`) they take a fifth less. The code of a loop is then also the
same whether its parts were compiled just now or fetched from the disk.

Numba counts who holds an array, with operations that all cores have to agree on, two for each row that is taken out of
a table: a tenth of a step. Whoever calls holds the arrays, so they are left out (`_nrt=False`, an option that Numba
uses itself and does not advertise). What would allocate memory then does not compile at all.
"""

from functools import partial

from numba import njit

compiled = partial(njit, cache=True, error_model="numpy", fastmath={"contract"}, forceinline=True, _nrt=False)
"""`numba.njit`, kept on disk, with multiply-and-add in one, as a part of whoever calls it."""
