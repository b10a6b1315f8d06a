"""A job opened, walked and kept."""
