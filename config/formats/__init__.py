"""How numbers and dates are written where that differs from what Django brings for a language."""
