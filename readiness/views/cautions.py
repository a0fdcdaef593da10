"""What must be heeded wherever a test is done."""

CAUTIONS = (
    "Run the laptop on its battery while testing. Never pull a lead by its wire.",
    "A kit with broken insulation or a wet charger is taken out of use, not tested.",
)
