"""Labels: the kinds there are, the rows of each, and what is printed on them."""
