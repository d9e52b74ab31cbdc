"""What script/setup does on a machine that lacks something, and with a .venv that does not fit."""

import fcntl
import os
import shutil
import subprocess
from pathlib import Path

import pytest

only_root = pytest.mark.skipif(os.geteuid() != 0, reason="only root installs packages")
MISSING = "poppler-utils gettext git shellcheck"  # Their programs are looked for on PATH, so a short PATH hides them.


def fail_to_install(folder):
    """An apt-get that installs nothing: the real one would change this machine."""
    apt_get = folder / "apt-get"
    apt_get.write_text("#!/bin/sh\necho 'E: no network' >&2\nexit 100\n")
    apt_get.chmod(0o755)


@pytest.fixture
def packages_fail(few_tools):
    fail_to_install(few_tools)
    return few_tools


@pytest.fixture
def all_but_the_proxy(tmp_path):
    """A folder for PATH with every program of this machine but Caddy."""
    for program in Path("/usr/bin").iterdir():
        if program.name not in ("caddy", "apt-get"):
            (tmp_path / program.name).symlink_to(program)
    fail_to_install(tmp_path)
    return tmp_path


@pytest.fixture
def owned_by_nobody(project):
    if os.geteuid() == 0:
        os.chown(project, 65534, 65534)
    yield
    if os.geteuid() == 0:
        os.chown(project, 0, 0)


@pytest.fixture
def folder_is_read_only(project):
    project.chmod(0o555)
    yield
    project.chmod(0o755)


@pytest.mark.parametrize("script", ["setup", "test", "demo"])
def test_a_script_asked_for_help_gives_its_first_comment_line(project, run, script):
    first_comment = (project / "script" / script).read_text().splitlines()[1]
    result = run(f"script/{script}", "--help")
    assert result.returncode == 0
    assert f"# {result.stdout}" == f"{first_comment}\n"
    assert first_comment.startswith(f"# script/{script} ")


@pytest.mark.usefixtures("folder_is_read_only")
def test_a_folder_that_cannot_be_written_to_is_named(project, refused):
    assert f"can't be written to: {project}." in refused("script/setup", "demo", as_nobody=True)


def test_without_apt_get_the_missing_packages_are_named(few_tools, refused):
    line = refused("script/setup", "test", PATH=str(few_tools))
    assert line.startswith("There is no apt-get on this machine.")
    assert MISSING in line


@pytest.mark.usefixtures("owned_by_nobody")
def test_who_is_not_root_is_told_what_to_type(packages_fail, refused):
    (packages_fail / "setpriv").symlink_to(shutil.which("setpriv"))
    line = refused("script/setup", "test", as_nobody=True, PATH=str(packages_fail))
    assert f"sudo apt-get install --no-install-recommends {MISSING}" in line


@only_root
def test_packages_that_cannot_be_installed_stop_with_the_reason(packages_fail, run):
    result = run("script/setup", "test", PATH=str(packages_fail))
    assert result.returncode == 1
    assert "E: no network" in result.stderr
    assert f"apt-get install --no-install-recommends {MISSING}" in result.stderr.splitlines()[-1]


@only_root
def test_packages_that_install_and_do_not_work_are_named(packages_fail, run):
    (packages_fail / "apt-get").write_text("#!/bin/sh\nexit 0\n")
    result = run("script/setup", "test", PATH=str(packages_fail))
    assert result.returncode == 1
    assert f"still finds nothing that works from: {MISSING}" in result.stderr


class TestVenv:
    """In order: each test goes on with the .venv that the one before it left."""

    def test_one_is_made_in_a_folder_with_a_space_in_its_name(self, project, run):
        result = run("script/setup", "demo")
        assert result.returncode == 0, result
        assert (project / ".venv/bin/pip").exists()

    def test_one_that_is_ready_is_left_as_it_is(self, project, run):
        (project / ".venv/kept").touch()
        assert run("script/setup", "demo").stdout == ""
        assert (project / ".venv/kept").exists()

    def test_a_second_set_up_waits_for_the_first(self, project):
        with (project / "script/requirements.txt").open() as lock:
            fcntl.flock(lock, fcntl.LOCK_EX)
            second = subprocess.Popen(["script/setup", "demo"], cwd=project, stdout=subprocess.PIPE, text=True)
            assert second.stdout.readline() == "Another set-up is at work in this folder; waiting for it to end.\n"
            assert second.poll() is None
        second.communicate(timeout=30)
        assert second.returncode == 0

    def test_one_that_was_interrupted_is_made_anew(self, project, run):
        (project / ".venv/ready-for-demo").unlink()
        assert run("script/setup", "demo").returncode == 0
        assert not (project / ".venv/kept").exists()
        assert (project / ".venv/ready-for-demo").exists()

    @only_root
    def test_one_for_the_tests_is_made_without_the_proxy_where_it_cannot_be_installed(self, run, all_but_the_proxy):
        result = run("script/setup", "test", PATH=str(all_but_the_proxy))
        assert result.returncode == 0, result
        assert "Installing caddy\n" in result.stdout
        assert result.stderr.startswith("E: no network\n")
        assert result.stderr.splitlines()[-1] == "It goes on without caddy: the tests that need it are left out."
        assert run("script/setup", "test", PATH=str(all_but_the_proxy)).stderr == ""
