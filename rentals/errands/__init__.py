"""What workers do in the background, one module for each matter. Django's own way of finding
modules by name finds this one.
"""

from . import fleets, labels, papers, rosters  # noqa: F401  (importing registers them)
