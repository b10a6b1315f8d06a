"""`rackwalk rules` and `quantities`: the author's tools."""
