"""Service physics: pure functions, SI inside, no terminal, no files but the shipped tables."""
