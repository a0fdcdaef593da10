"""What is kept about students: every place, why, how long, and what an erasure does to it.

The page under Setup, the export of one student's data and the erasure are all driven by the lists
here. A column of text, JSON or a file that is in none of them fails a test.
"""
