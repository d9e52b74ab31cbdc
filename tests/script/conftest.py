"""A copy of the project to run the scripts in, so that no test touches the folder's own .venv or demo."""

import os
import shutil
import subprocess
import tempfile
from pathlib import Path

import pytest

PROJECT = Path(__file__).resolve().parents[2]
NOT_COPIED = (".*", "var", "tests", "*.sqlite3*", "__pycache__")
NOBODY = 65534
# What the scripts themselves call; each test adds to it or leaves out what it wants missing.
SHELL_TOOLS = ("cat", "cksum", "dirname", "flock", "id", "mkdir", "mktemp", "rm", "sed", "sh", "tail")


@pytest.fixture(scope="module")
def project():
    """A copy without any package to install, in a folder whose name has a space and that any user may read."""
    parent = Path(tempfile.mkdtemp(prefix="railwright-scripts."))
    parent.chmod(0o755)
    copy = parent / "vertical blinds"
    shutil.copytree(PROJECT, copy, ignore=shutil.ignore_patterns(*NOT_COPIED))
    (copy / "script/requirements.txt").write_text("")
    (copy / "script/requirements-test.txt").write_text("")
    yield copy
    shutil.rmtree(parent)


@pytest.fixture
def few_tools(tmp_path_factory):
    """A folder for PATH that holds the shell's tools and nothing else, readable by any user."""
    folder = Path(tempfile.mkdtemp(prefix="railwright-path."))
    folder.chmod(0o755)
    for tool in SHELL_TOOLS:
        (folder / tool).symlink_to(shutil.which(tool))
    yield folder
    shutil.rmtree(folder)


@pytest.fixture
def run(project):
    """Function that runs a script of the copy to its end and returns it with its output."""

    def ran(*command, as_nobody=False, **environment):
        if as_nobody and os.geteuid() == 0:
            command = ("setpriv", f"--reuid={NOBODY}", f"--regid={NOBODY}", "--clear-groups", *command)
        return subprocess.run(
            command,
            cwd=project,
            env=os.environ | environment,
            stdin=subprocess.DEVNULL,
            capture_output=True,
            text=True,
            timeout=60,
            check=False,
        )

    return ran


@pytest.fixture
def refused(run):
    """Function that runs a script which must refuse, and returns its one line."""

    def line(*command, **circumstances):
        result = run(*command, **circumstances)
        assert result.returncode == 1, result
        assert result.stdout == ""
        assert result.stderr.count("\n") == 1, result.stderr
        return result.stderr.strip()

    return line
