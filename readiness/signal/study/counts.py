"""Counting for the study: the power of the best possible noise test."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class NoisePower:
    """What the best possible test of a noise limit does at ``times`` the limit."""

    times: float
    fails: float
    not_passed: float


def noise_power(times: float, dof: float, level: float = 0.05) -> NoisePower:
    """Power of the chi-square test of a variance with ``dof`` degrees of freedom (2 B T, row N17).

    A value fails when the probability of meeting the limit is at most ``level``: nu s^2/L^2 above
    the upper point of chi-square. It passes when that probability is at least 1 - ``level``. The
    true noise is ``times`` the limit L.
    """
    from scipy.special import chdtrc, chdtri

    fails = float(chdtrc(dof, chdtri(dof, level) / times**2))
    not_passed = float(chdtrc(dof, chdtri(dof, 1 - level) / times**2))
    return NoisePower(times, fails, not_passed)
