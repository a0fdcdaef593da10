"""What a ten-second capture can tell. Pure Python on NumPy and SciPy: nothing here imports
Django.
"""
