"""`rackwalk jobs` and `audit`: all that was recorded."""
