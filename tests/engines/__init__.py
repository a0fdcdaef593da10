"""Firefox and WebKit: the loop walked in both, and what one of them once drew wrongly."""
