"""Starting this program anew with settings of a test's own."""

import json
import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
KEY = "k3y-Of-5ixty.four_signs+that-nobody=guesses/anywhere;2026-ab:cd"
MEMORY = "sqlite:///:memory:"
WITH_HTTPS = {"HTTPS": "on", "SECRET_KEY": KEY, "ALLOWED_HOSTS": "blinds.example"}


def started(*command, **environment):
    """What a Python process prints that starts with these settings alone."""
    kept = {name: os.environ[name] for name in ("PATH", "HOME") if name in os.environ}
    kept["DATABASE_URL"] = MEMORY
    return subprocess.run(
        [sys.executable, *command], cwd=ROOT, env=kept | environment, capture_output=True, text=True, timeout=120
    )


def printed(code, **environment):
    """The JSON that `code` prints, run with these settings alone."""
    done = started("-c", code, DJANGO_SETTINGS_MODULE="config.settings", **environment)
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)
