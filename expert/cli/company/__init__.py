"""`rackwalk packs` and `sync`: what the company gives out, and jobs exchanged with its store."""
