"""Moving house: the whole desk in a folder that people and programs can read, and back from it,
from either database to either.
"""
