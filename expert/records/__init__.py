"""What many jobs say together: the refrigerant log, and how work was done across a company."""
