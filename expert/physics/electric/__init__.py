"""Three phases: unbalance, and how far their average lies from what a plate or table says."""
