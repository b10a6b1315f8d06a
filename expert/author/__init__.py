"""What a lead needs to prove knowledge: scenarios, coverage, analysis, mutation."""
