"""The refrigeration cycle, from suction to condenser."""
