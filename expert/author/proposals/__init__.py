"""Tests proposed for what no test has tried."""
