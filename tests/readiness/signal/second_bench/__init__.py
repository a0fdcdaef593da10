"""A second bench, made apart from the simulator: a circuit solved in time, contacts that bounce,
fingers, phones and a hand that brings mains to the bar. It knows neither the scorer's limits nor
the simulator's formulas.

    python -m tests.readiness.signal.second_bench --kits 400 --seed 7

Voltages are in microvolts, resistances in ohms, capacitances in farads, currents in microamperes
per ohm's law of these (microvolts / ohm), times in seconds.
"""
