"""Planning over plain values: assignment, contents, languages, money, settlement. No Django."""
