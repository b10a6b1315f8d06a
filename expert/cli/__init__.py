"""The rackwalk command."""
