"""The demo: a wholly invented music college lends kits to the string players of a distance
course.
"""
