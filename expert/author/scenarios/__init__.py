"""Cases and rule tests, read, run and told."""
