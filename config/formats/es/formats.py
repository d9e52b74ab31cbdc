# A point in figures, as on tickets and drawings: one form on paper and screen can't be mistaken.
DECIMAL_SEPARATOR = "."
