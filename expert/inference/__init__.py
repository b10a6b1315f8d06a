"""Readings to derived values, states, engine, findings. No terminal, no database, no templates."""
