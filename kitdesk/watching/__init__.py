"""Watching the desk: what a monitor, its owner and a log are told of how it is doing."""
