"""What is handed to whoever installs Railwright is true: settings, services, image, proxy, each line of the guide."""

import ast
import os
import re
import secrets
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
import yaml
from django.core.management import get_commands

pytestmark = pytest.mark.once
ROOT = Path(__file__).resolve().parents[2]
INSTALL = ROOT / "config" / "install"
GUIDE = (INSTALL / "installing.md").read_text(encoding="utf-8")
UNITS = sorted([*INSTALL.glob("*.service"), *INSTALL.glob("*.timer")])
# What Debian and Ubuntu bring, or a step of the guide installs.
PROGRAMS = {
    "apt-get",
    "cp",
    "mv",
    "rm",
    "curl",
    "df",
    "journalctl",
    "ls",
    "nano",
    "ss",
    "systemctl",
    "docker",
    "install",
}
NAME = re.compile(r"^#?([A-Z][A-Z_]+)=", re.MULTILINE)


# Settings


def settings_read():
    """Every name that config/settings.py asks the environment for, but the one that is for tests alone."""
    tree = ast.parse((ROOT / "config/settings.py").read_text(encoding="utf-8"))
    asked = [call for call in ast.walk(tree) if isinstance(call, ast.Call) and isinstance(call.func, ast.Attribute)]
    of_env = [call for call in asked if ast.unparse(call.func).startswith(("env.", "os.environ.get"))]
    names = {call.args[0].value for call in of_env if isinstance(call.args[0], ast.Constant)}
    return {name for name in names if re.fullmatch("[A-Z_]+", name)} - {"TEST_SQLITE"}


def test_the_settings_head_names_each_one_that_is_read():
    head = ast.get_docstring(ast.parse((ROOT / "config/settings.py").read_text(encoding="utf-8")))
    named = set(re.findall(r"\b[A-Z][A-Z_]{4,}\b", head.split("Environment:")[1]))
    assert len(named) > 20
    assert named == settings_read()


def test_the_sample_explains_each_setting_once_and_no_other():
    names = NAME.findall((INSTALL / "sample.env").read_text(encoding="utf-8"))
    assert len(names) == len(set(names))
    assert set(names) == settings_read()


def test_a_test_run_takes_none_of_the_callers_settings():
    unset = re.search(r"^unset (.+?[^\\])$", (ROOT / "script/test").read_text(), re.MULTILINE | re.DOTALL).group(1)
    assert settings_read() - {"DATABASE_URL"} <= set(unset.replace("\\\n", " ").split())


def test_the_sample_says_the_same_to_a_shell_to_systemd_and_to_compose():
    """They differ in $, `, backslashes and quotes: https://www.freedesktop.org/software/systemd/man/systemd.exec.html."""
    lines = [line for line in (INSTALL / "sample.env").read_text(encoding="utf-8").splitlines() if NAME.match(line)]
    for line in lines:
        value = line.partition("=")[2]
        assert re.fullmatch(r'"[^"$`\\\']*"|[^\s"$`\\\'#;]*', value), line


def test_the_server_takes_the_sample_once_it_has_a_key():
    sample = (INSTALL / "sample.env").read_text(encoding="utf-8")
    on = {
        line.partition("=")[0]: shlex.split(line)[0].partition("=")[2]
        for line in sample.splitlines()
        if NAME.match(line) and line[0] != "#"
    }
    given = on | {"SECRET_KEY": secrets.token_urlsafe(48), "DATABASE_URL": "sqlite://:memory:"}
    command = [sys.executable, "manage.py", "check", "--deploy", "--fail-level", "WARNING"]
    checked = subprocess.run(command, cwd=ROOT, env=clean() | given, capture_output=True, text=True, check=False)
    assert checked.returncode == 0, checked.stderr


def clean():
    return {
        name: value for name, value in os.environ.items() if name not in settings_read() | {"DJANGO_SETTINGS_MODULE"}
    }


# Services


@pytest.fixture(scope="module")
def installed(tmp_path_factory):
    """The units as they would lie on a machine, but that the program is in a folder of the test's own."""
    folder = tmp_path_factory.mktemp("units")
    python = folder / "program/.venv/bin/python"
    python.parent.mkdir(parents=True)
    python.write_text("#!/bin/sh\n")
    python.chmod(0o755)
    for unit in UNITS:
        text = unit.read_text(encoding="utf-8").replace("/opt/railwright", str(folder / "program"))
        (folder / unit.name).write_text(text)
    return folder


def test_systemd_finds_nothing_wrong_with_the_services(installed):
    units = [str(installed / unit.name) for unit in UNITS]
    verified = subprocess.run(
        ["systemd-analyze", "verify", "--man=no", *units], capture_output=True, text=True, check=False
    )
    assert (verified.returncode, verified.stderr) == (0, "")


@pytest.mark.parametrize("unit", [unit.name for unit in UNITS if unit.suffix == ".service"])
def test_systemd_counts_each_service_among_the_well_shut_off(unit, installed):
    """Its own measure runs from 0, shut off from everything, to 10."""
    measured = subprocess.run(
        ["systemd-analyze", "security", "--offline=true", "--threshold=20", str(installed / unit)],
        capture_output=True,
        text=True,
        check=False,
    )
    assert measured.returncode == 0, measured.stdout[-300:]


@pytest.mark.parametrize("unit", [unit for unit in UNITS if unit.suffix == ".service"], ids=lambda unit: unit.name)
def test_a_service_runs_what_is_there(unit):
    commands = re.findall(r"^Exec(?:Start|StartPost)=(.+)$", unit.read_text(), re.MULTILINE)
    assert commands
    for command in commands:
        assert_runs(shlex.split(command), prefix="/opt/railwright/")


def assert_runs(words, *, prefix=""):
    """That a command of the project's own Python is there to be run."""
    assert words[0] == f"{prefix}.venv/bin/python", words
    if words[1] == "manage.py":
        assert words[2] in get_commands(), words
    elif words[1] == "-m" and words[2] == "gunicorn":
        assert words[-1] == "config.wsgi"
        assert "python:config.gunicorn_settings" in words
        assert (ROOT / "config/wsgi.py").exists()
    else:
        assert words[1] == "-m", words
        assert (ROOT / f"{words[2].replace('.', '/')}.py").exists(), words


# The proxy


@pytest.mark.parametrize(
    ("sample", "pages", "live"), [("Caddyfile", "127.0.0.1", "127.0.0.1"), ("Caddyfile.containers", "pages", "live")]
)
def test_the_proxy_leads_to_the_pages_and_the_stream_and_keeps_what_is_for_this_machine(sample, pages, live):
    text = (INSTALL / sample).read_text(encoding="utf-8")
    assert f"\treverse_proxy /live/* {live}:8001\n" in text
    buffered = re.search(rf"^\treverse_proxy {pages}:8000 {{\n(.+?)\n\t}}$", text, re.MULTILINE | re.DOTALL)[1].split()
    assert buffered in (
        ["request_buffers", "8MB", "response_buffers", "8MB"],
        ["buffer_requests", "buffer_responses", "max_buffer_size", "8MB"],
    )
    assert "@watching path /health/ /ready/ /metrics/\n\trespond @watching 404\n" in text
    if shutil.which("caddy") and sample == "Caddyfile":
        checked = ["caddy", "adapt", "--adapter", "caddyfile", "--config", str(INSTALL / sample)]
        assert subprocess.run(checked, capture_output=True, check=False).returncode == 0


# The guide


def typed():
    """Each line of the guide that is typed, without `sudo`."""
    for line in re.findall(r"^ {4}(\S.*)$", GUIDE, re.MULTILINE):
        words = shlex.split(line)
        while words[0] == "sudo" or NAME.match(words[0]):
            words = words[3:] if words[1] == "-u" else words[1:]
        yield words


def test_the_guide_types_no_program_that_is_not_there():
    odd = []
    for words in typed():
        if words[0].startswith("/opt/railwright/"):
            assert (ROOT / words[0].removeprefix("/opt/railwright/")).stat().st_mode & 0o111, words
        elif words[0] == "railwright":
            assert words[1] in get_commands(), words
        elif words[0] == "sh":
            assert (ROOT / words[1].removeprefix("/opt/railwright/")).exists(), words
        elif words[0] not in PROGRAMS | {"createuser", "createdb", "[Service]"} and not words[0].startswith(
            "ExecStart="
        ):
            odd.append(words)
    assert odd == []


def test_each_service_that_the_guide_names_is_there():
    named = set(re.findall(r"railwright-[a-z]+(?:\.timer)?", GUIDE))
    there = {unit.stem for unit in UNITS} | {"railwright-backup.timer"}
    assert named <= there
    assert {"railwright-pages", "railwright-live", "railwright-work"} <= named


def test_each_file_of_ours_that_the_guide_names_is_there():
    named = set(re.findall(r"(?:/opt/railwright/)?((?:config|script)/[\w./-]+\w)", GUIDE))
    made = {"config/install/railwright.env"}
    assert sorted(name for name in named - made if not (ROOT / name).exists()) == []
    assert len(named) > 6


def test_each_line_for_containers_names_a_sample_and_a_service_that_are_there():
    lines = [words for words in typed() if words[0] == "docker"]
    assert len(lines) > 4
    for words in lines:
        assert words[1:3] == ["compose", "-f"]
        services = yaml.safe_load((ROOT / words[3]).read_text(encoding="utf-8"))["services"]
        if words[4] == "exec":
            while words[5] == "-e":
                assert words[6].partition("=")[0] in settings_read()
                del words[5:7]
            assert words[5] in services
            assert_runs(words[6:])


def test_each_setting_and_word_of_the_page_that_the_guide_names_is_there():
    quoted = set(re.findall(r"`([A-Z][A-Z_]{4,})(?:=\S*)?`", GUIDE))
    assert quoted <= settings_read()
    assert "Enrol this browser" in (ROOT / "templates/tablets.html").read_text(encoding="utf-8")
    pages = (ROOT / "templates/_setup_pages.html").read_text(encoding="utf-8")
    assert all(f">{word}</a>" in pages for word in ("Server", "Tablets", "PINs and badges"))
    assert "All is well" in (ROOT / "templates/well.html").read_text(encoding="utf-8")
