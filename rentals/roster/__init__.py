"""Reading rosters: a file's bytes become a sheet of text, a sheet becomes people with what is wrong
with each row.

Plain functions; no row of the database is read or written here.
"""
