"""The program's settings, and the ways into it."""

import gc

# Python looks for cycles after every 700 new objects, and a file of 10,000 rows makes some hundred thousand that stay
# for as long as it is looked at: a fourth of its time went into looking them through again and again.
gc.set_threshold(50_000, 20, 20)
