"""Bench captures: read, scored and kept."""

import os

THREADS_OF_THE_LINEAR_ALGEBRA = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")

# A capture is too small for threads: they take longer to wait for each other than the sums take.
# The parting of the work is a process for each core. Read when NumPy is loaded.
for name in THREADS_OF_THE_LINEAR_ALGEBRA:
    os.environ.setdefault(name, "1")
