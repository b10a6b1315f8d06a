"""A lead is asked for a rule, in trade words."""
