"""Reading tables: a file's bytes or pasted text become a sheet of text; a sheet becomes people, or
kits and parts, with what is wrong with each row.

Plain functions; no row of the database is read or written here.
"""
