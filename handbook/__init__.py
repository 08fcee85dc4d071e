"""The calculation engine of the handbook: brine, uptake, heat, safety and timing. It knows no HTML."""

import os

__version__ = "0.1.0"

# One thread for linear algebra, set before numpy loads: matrices here are small, and threads would change the order of
# sums and so the last digits from one machine to another.
for _name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_name, "1")
