"""YAML files of the author: one layout, and the schema for editors."""
