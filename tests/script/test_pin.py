"""What is installed: every package by version and hash, and no other one."""

import re
from importlib.metadata import distributions
from pathlib import Path

import pytest

SCRIPT = Path(__file__).parents[2] / "script"
FILES = sorted(SCRIPT.glob("requirements*.txt"))
# What a virtual environment brings by itself.
BROUGHT = {"pip", "setuptools", "wheel"}


def packages(file):
    """Name and version of each package in `file`, with its hashes."""
    for block in re.split(r"\n(?=\S)", file.read_text()):
        if not block.startswith("-r "):
            name, version = re.match(r"(\S+)==(\S+)", block).groups()
            yield named(name), version, re.findall(r"--hash=sha256:([0-9a-f]{64})\b", block)


def named(name):
    """As https://packaging.python.org/en/latest/specifications/name-normalization/ says."""
    return re.sub(r"[-_.]+", "-", name).lower()


def pinned(*files):
    return {name: version for file in files for name, version, _ in packages(file)}


def test_the_files_are_found():
    assert [file.name for file in FILES] == ["requirements-mutate.txt", "requirements-test.txt", "requirements.txt"]


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.name)
def test_each_package_is_pinned_with_hashes(file):
    found = list(packages(file))
    assert found
    assert [name for name, _, hashes in found if not hashes] == []


def test_what_is_installed_is_what_is_pinned():
    mutate, *others = FILES
    installed = {named(each.name): each.version for each in distributions() if named(each.name) not in BROUGHT}
    wanted = pinned(*others)
    assert {name: installed.get(name) for name in wanted} == wanted
    assert installed.keys() - wanted.keys() <= pinned(mutate).keys()


@pytest.mark.parametrize("script", ["setup", "mutate"])
def test_nothing_is_installed_without_its_hash(script):
    installs = re.findall(r".*pip install.*-r.*", (SCRIPT / script).read_text())
    assert installs
    assert all("--require-hashes" in line for line in installs)
