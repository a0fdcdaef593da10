"""What a lead does: the trace by windows, abrupt opens, the reaction when lifted, the shape of a
short.
"""
