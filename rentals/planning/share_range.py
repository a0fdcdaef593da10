"""A share that was counted, and how sure that is: Wilson's interval. Pure."""

from __future__ import annotations

import math

Z_95 = 1.959963984540054


def wilson(hits: int, trials: int, z: float = Z_95) -> tuple[float, float]:
    """Lower and upper end of the interval for a share, 95 % unless `z` says otherwise.

    Wilson, Journal of the American Statistical Association 22 (1927) 209-212: unlike the usual
    one it stays within 0 and 1 and says something sensible for none of ten.

    Raises
    ------
    ValueError
        If there are no trials, or more hits than trials.
    """
    if not 0 <= hits <= trials or not trials:
        raise ValueError(f"a share needs trials, and 0 to all of them: not {hits} of {trials}")
    share, wide = hits / trials, z * z / trials
    middle = share + wide / 2
    half = z * math.sqrt(share * (1 - share) / trials + wide / (4 * trials))
    low, high = (middle - half) / (1 + wide), (middle + half) / (1 + wide)
    return (0.0 if hits == 0 else low), (1.0 if hits == trials else high)
