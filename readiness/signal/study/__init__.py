"""The study of false verdicts on the simulator, its curves, and the speed beside bare libraries."""
