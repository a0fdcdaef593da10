"""What is measured on a desk made for it and thrown away: scoring by workers, scoring again, large
drops. Each figure comes with the load of the machine, for others' work makes it worthless.
"""
