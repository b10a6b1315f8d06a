"""How what a company decides reaches every machine: signed packs, and jobs exchanged both ways."""
