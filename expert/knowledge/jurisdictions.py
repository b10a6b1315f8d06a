"""By whose law a store can be kept; apart from the models, since settings know it too."""

JURISDICTIONS = ("United States", "European Union")  # the first where a store names none
