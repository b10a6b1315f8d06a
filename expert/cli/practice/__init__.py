"""`rackwalk practice`: exercises on a plant of the model."""
