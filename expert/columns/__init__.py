"""Many finished jobs judged at once: their known values in columns, and a judge over these."""
