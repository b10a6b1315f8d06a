"""Practice on a plant that is not real: exercises, what a person did, and what came of it."""
