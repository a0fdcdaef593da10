"""A physical model of a kit being tested: amplifier, leads, bar, room, operator. Used by tests,
the study and the demo data.

The model knows nothing of the scorer's thresholds. Its public face is
``readiness.signal.simulator.captures``.
"""
