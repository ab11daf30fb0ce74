"""Placer gold sampling, pay streaks and mining decisions, kept on your own machine."""

import os

__version__ = "0.1.0"

# The matrices here are small: threads of the linear algebra wait for each other a
# hundred times longer than they work when another program is busy.
for _library in ("OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_library, "1")
