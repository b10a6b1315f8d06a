"""What changed between two rulebases, in words and in past jobs."""
