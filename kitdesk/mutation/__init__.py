"""Do the tests notice a wrong core? Small faults are put into it one at a time, in memory only."""
