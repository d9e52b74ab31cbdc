"""The README tells the truth about the tree."""

import re
import subprocess
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
# Read by their own names on the way in: the papers and the hidden files of a checkout.
BESIDE_THE_MAP = {"README.md", "DEVELOPERS.md", "CHANGELOG.md", "LICENSE"}


def mapped():
    section = README.split("## The map")[1].split("\n\nHow an order line")[0]
    return {found.rstrip("/") for found in re.findall(r"^    (\S+) {2,}", section, re.MULTILINE)}


def tracked():
    files = subprocess.run(["git", "ls-files"], cwd=ROOT, check=True, capture_output=True, text=True).stdout.split("\n")
    return {name.split("/")[0] for name in files if name and not name.startswith(".")}


def test_the_map_names_every_room_and_no_other():
    assert mapped() == tracked() - BESIDE_THE_MAP


def test_every_file_that_the_readme_and_the_developers_guide_name_is_there():
    text = README + (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    named = set(re.findall(r"(?:calc|orders|materials|production|config|fixtures|script|tests)/[\w/]+\.\w+", text))
    named |= set(re.findall(r"script/[a-z]+\b", text)) - {"script/requirements"}
    assert len(named) > 15
    assert sorted(name for name in named if not (ROOT / name).exists()) == []


def test_the_command_that_finds_a_figure_finds_it_once():
    command = re.search(r'`grep -rn "(def \w+)" calc`', README).group(1)
    hits = [path for path in (ROOT / "calc").glob("*.py") for line in path.read_text().splitlines() if command in line]
    assert len(hits) == 1
