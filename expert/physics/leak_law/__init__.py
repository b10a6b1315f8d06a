"""Leak rates and clocks as the rules write them."""
