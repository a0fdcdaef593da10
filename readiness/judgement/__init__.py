"""From stored results to one verdict on a kit: rounds, own limits, combining, next acts, drift."""
