"""What the machine must have beside Python packages, found by trying the real thing.

    python3 script/system_needs.py missing demo|test    the Debian packages still to install, on one line
    python3 script/system_needs.py missing welcome      those that some tests are left out without, on one line
    python3 script/system_needs.py chromium             a browser that starts, or nothing
    python3 script/system_needs.py postgres             the folder of PostgreSQL's server programs, or nothing

It runs before anything is installed, so it imports the standard library alone.
"""

import ctypes
import importlib.util
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

OLDEST_POSTGRES = 13
CHROMIUM_NAMES = ("chromium", "google-chrome", "google-chrome-stable", "chromium-browser")
POSTGRES_ROOT = Path("/usr/lib/postgresql")


def runs(*command):
    """Whether a program starts and ends well, within 30 s."""
    try:
        return subprocess.run(command, capture_output=True, timeout=30, check=False).returncode == 0  # noqa: S603
    except (OSError, subprocess.TimeoutExpired):
        return False


def loads(soname):
    try:
        ctypes.CDLL(soname)
    except OSError:
        return False
    return True


def is_snap(path):
    """Whether a browser is a snap or only points to one: shut off from /tmp, it can't be steered by the tests."""
    real = os.path.realpath(path)
    if real.startswith("/snap/") or Path(real).name == "snap":
        return True
    head = Path(real).read_bytes()[:4096]
    return head.startswith(b"#!") and b"snap" in head


def chromium():
    """Path of a Chromium or Chrome that starts, or None."""
    for name in CHROMIUM_NAMES:
        path = shutil.which(name)
        if path and not is_snap(path) and runs(path, "--version"):
            return path
    return None


def postgres():
    """Folder of the newest PostgreSQL server's programs, or None."""
    found = {
        int(folder.name): folder / "bin"
        for folder in POSTGRES_ROOT.glob("*")
        if re.fullmatch(r"\d+", folder.name) and int(folder.name) >= OLDEST_POSTGRES
    }
    return next((str(found[v]) for v in sorted(found, reverse=True) if runs(found[v] / "initdb", "--version")), None)


def is_ubuntu():
    release = Path("/etc/os-release")
    return release.exists() and re.search(r'^ID="?ubuntu"?$', release.read_text(), re.MULTILINE) is not None


DEMO_NEEDS = {
    "python3-venv": lambda: bool(importlib.util.find_spec("ensurepip") and importlib.util.find_spec("venv")),
    "libpango-1.0-0": lambda: loads("libpango-1.0.so.0"),
    "libpangoft2-1.0-0": lambda: loads("libpangoft2-1.0.so.0"),
    # Without it labels still print, several times slower, and nothing says so.
    "libharfbuzz-subset0": lambda: loads("libharfbuzz-subset.so.0"),
}
TEST_NEEDS = DEMO_NEEDS | {
    # Playwright's driver loads it.
    "libatomic1": lambda: loads("libatomic.so.1"),
    "postgresql": lambda: postgres() is not None,
    "poppler-utils": lambda: runs("pdftoppm", "-v"),
    "gettext": lambda: runs("msgfmt", "--version"),
    # The map in the README is held against the files that git keeps.
    "git": lambda: runs("git", "--version"),
    "shellcheck": lambda: runs("shellcheck", "--version"),
    # The services that are handed out are held against it; it need not run.
    "systemd": lambda: runs("systemd-analyze", "--version"),
    # Ubuntu's package of this name is a snap: there script/setup takes Playwright's own browser instead.
    "chromium": lambda: is_ubuntu() or chromium() is not None,
}

WELCOME = {
    # The pages are tried behind it as the sample sets it up.
    "caddy": lambda: runs("caddy", "version"),
}


def missing(purpose):
    needs = {"demo": DEMO_NEEDS, "test": TEST_NEEDS, "welcome": WELCOME}[purpose]
    return " ".join(package for package, present in needs.items() if not present())


if __name__ == "__main__":
    answers = {"missing": missing, "chromium": chromium, "postgres": postgres}
    print(answers[sys.argv[1]](*sys.argv[2:]) or "")
