"""How much of a file is read: far more than an order has, and little enough to be read while somebody waits."""

MOST_BYTES = 5_000_000
MOST_ROWS = 10_000
"""Rows below the head."""
AT_ONCE = 200
"""A file with more rows is taken in outside the request that asks for it."""
HEAD_WITHIN = 30
"""The head of the columns is looked for in so many rows from the top."""
MOST_COLUMNS = 60
MOST_SHEETS = 8
MOST_CHARACTERS = 1_000
"""In one cell; the longest text of a line has 300."""
MOST_ORDERS = 100
