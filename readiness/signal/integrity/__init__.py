"""Can this trace be a measurement at all: stops, the converter, gaps, time base."""
