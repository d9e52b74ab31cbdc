"""A backup is tried out as the guide says, line by line, by the program that an installation has for it.

What takes root on a machine is stood in for: sudo, runuser and id, and the folders are the test's own.
"""

import os
import re
import subprocess

import pytest
from django.utils import timezone

from production.backup import taking
from production.models import Blind
from tests import factories
from tests.config.running_gunicorn import ROOT
from tests.live_stream import database_url

pytestmark = [pytest.mark.once, pytest.mark.django_db(transaction=True)]
INSTALL = ROOT / "config/install"
STAND_INS = {
    "sudo": '#!/bin/sh\nexec env "$@"\n',
    "runuser": '#!/bin/sh\nshift 3\nexec "$@"\n',
    "id": "#!/bin/sh\necho 0\n",
}


@pytest.fixture
def installed(tmp_path, settings):
    """The folder of an installation, with a backup of the workshop in it and the programs of the machine."""
    settings.EMAIL_FILE_PATH = tmp_path / "outbox"
    programs = tmp_path / "bin"
    programs.mkdir()
    wrapper = (INSTALL / "railwright").read_text(encoding="utf-8")
    for name, text in {**STAND_INS, "railwright": as_installed(wrapper, tmp_path)}.items():
        (programs / name).write_text(text)
        (programs / name).chmod(0o755)
    (tmp_path / "railwright.env").write_text(
        f"DATABASE_URL={database_url()}\nOUTBOX={tmp_path}/outbox\nSECRET_KEY=known-to-all\n"
    )
    return tmp_path


def as_installed(text, folder):
    for there, here in {
        "/etc/railwright.env": folder / "railwright.env",
        "/var/cache/railwright": folder / "cache",
        "/var/lib/railwright": folder,
        "/opt/railwright": ROOT,
        "-o railwright ": "",
    }.items():
        text = text.replace(there, str(here))
    return text


def typed(folder, *, name):
    """The lines of the guide's part about it."""
    guide = (INSTALL / "installing.md").read_text(encoding="utf-8")
    part = re.search(r"### Try a backup out\n(.+?)\n### ", guide, re.DOTALL)[1]
    lines = re.findall(r"^ {4}(\S.*)$", part, re.MULTILINE)
    return [as_installed(line, folder).replace("/NAME", f"/{name}") for line in lines]


def type_in(line, folder):
    given = {name: os.environ[name] for name in ("HOME", "LANG") if name in os.environ}
    given["PATH"] = f"{folder / 'bin'}:{os.environ['PATH']}"
    return subprocess.run(["sh", "-c", line], env=given, capture_output=True, text=True, check=False)


def test_a_backup_is_tried_out_beside_the_workshop_which_stays_as_it_is(installed):
    blind, *_ = factories.released(lines=[{"quantity": 2}])
    backup = taking.take(installed / "backups", at=timezone.now()).path
    Blind.objects.filter(pk=blind.pk).update(version=77)
    make, restore, clear = typed(installed, name=backup.name)
    assert type_in(make, installed).returncode == 0
    tried = type_in(restore, installed)
    assert tried.returncode == 0, tried.stderr
    assert "Restored as of " in tried.stdout
    assert "1 orders, 2 blinds" in tried.stdout
    assert (installed / "tried/workshop.sqlite3").exists()
    assert Blind.objects.get(pk=blind.pk).version == 77
    assert type_in(clear, installed).returncode == 0
    assert not (installed / "tried").exists()
    assert backup.exists()


def test_a_backup_that_is_damaged_is_told_so_by_the_trial(installed):
    factories.released()
    backup = taking.take(installed / "backups", at=timezone.now()).path
    backup.write_bytes(backup.read_bytes()[:-20])
    make, restore, _ = typed(installed, name=backup.name)
    type_in(make, installed)
    tried = type_in(restore, installed)
    assert tried.returncode == 1
    assert "is not what was written" in tried.stderr


def test_without_a_database_in_front_the_one_of_the_settings_is_meant(installed):
    factories.released()
    backup = taking.take(installed / "backups", at=timezone.now()).path
    said = type_in(f"sudo railwright restore {backup}", installed)
    assert said.returncode == 1
    assert "The database holds 1 orders" in said.stderr
