"""Jobs on disk: one SQLite file, one transaction an entry."""
