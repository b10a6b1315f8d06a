"""The command that serves pages, and what they are given of the store."""
