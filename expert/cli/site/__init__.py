"""A store of one's own: begun, added to, shown, checked, learned from jobs."""
