"""Planning over plain values: assignment, contents, money, settlement. No Django."""
