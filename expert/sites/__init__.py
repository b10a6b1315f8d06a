"""A store that is new: asked, taken from a legend, learned from jobs; what is not known."""
