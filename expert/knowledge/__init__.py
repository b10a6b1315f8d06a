"""YAML knowledge, read with places, checked, and kept as frozen models."""
