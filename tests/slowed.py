"""How long something may take on a machine that does other things too."""

import os


def slowed(seconds):
    """`seconds` of a machine that does nothing else: where more wants to run than it has cores, as much longer."""
    return seconds * max(1.0, os.getloadavg()[0] / os.cpu_count())
