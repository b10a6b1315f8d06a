"""Logged values of weeks: defrosts found in the curves, and judged like typed readings."""
