"""The file of one backup: a gzipped tar with the database, the letters that lie as files, and a list of what it holds.

    list.json       made at, version, kind of database, migrations, rows of each table, SHA-256 of each file in it
    database        SQLite's own file, or what pg_dump --format=custom writes
    outbox/…        letters that lie as files

Beside it lies its SHA-256, in the form that `sha256sum --check` reads.
"""

import datetime as dt
import gzip
import hashlib
import io
import json
import os
import re
import tarfile
import zlib
from dataclasses import asdict, dataclass, field
from pathlib import Path

NAME = re.compile(r"railwright-(\d{8}T\d{6}Z)-(.+)-(sqlite|postgresql)\.tar\.gz")
WHEN = "%Y%m%dT%H%M%SZ"
UNFINISHED = ".part"
LIST, DATABASE, OUTBOX = "list.json", "database", "outbox/"
FORM = 1
CHUNK = 1 << 20


class Failed(Exception):
    """The backup could not be made, or is none that can be restored; the message says why and what to do."""


@dataclass(frozen=True, kw_only=True)
class Contents:
    """What a backup says of itself. `rows` is how many there are in each table, `files` the SHA-256 of each file."""

    at: str
    version: str
    vendor: str
    migrations: list
    rows: dict
    files: dict = field(default_factory=dict)
    form: int = FORM


def name_of(*, at, version, vendor):
    return f"railwright-{at.astimezone(dt.UTC):{WHEN}}-{version}-{vendor}.tar.gz"


def write(target, *, contents, database, outbox):
    """Write the backup at the path `target`, which is there only once it is whole and on the disk.

    `database` is the path of the copied database, `outbox` the folder with letters. Raises Failed.
    """
    unfinished = target.with_name(target.name + UNFINISHED)
    files = {DATABASE: database} | {f"{OUTBOX}{path.name}": path for path in _letters(outbox)}
    try:
        with os.fdopen(os.open(unfinished, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
            with tarfile.open(fileobj=file, mode="w:gz", compresslevel=3) as tar:
                sums = {name: _add(tar, name, path) for name, path in files.items()}
                said = json.dumps({**asdict(contents), "files": sums}, indent=1).encode()
                _add_bytes(tar, LIST, said)
            file.flush()
            os.fsync(file.fileno())
        _write_sum(target, sha256(unfinished))
        check(unfinished, expected=read_sum(target))
        unfinished.rename(target)
        _sync_folder(target.parent)
    except OSError as error:
        raise Failed(f"The backup could not be written to {target}: {error.strerror or error}.") from error
    finally:
        if unfinished.exists():
            unfinished.unlink()
            sum_file(target).unlink(missing_ok=True)


def _letters(outbox):
    return sorted(path for path in outbox.iterdir() if path.is_file()) if outbox.is_dir() else []


def _add(tar, name, path):
    found, digest = tar.gettarinfo(path, arcname=name), hashlib.sha256()
    found.uid = found.gid = 0
    found.uname = found.gname = ""

    class Summed:
        def read(self, size):
            chunk = file.read(size)
            digest.update(chunk)
            return chunk

    with open(path, "rb") as file:
        tar.addfile(found, Summed())
    return digest.hexdigest()


def _add_bytes(tar, name, said):
    found = tarfile.TarInfo(name)
    found.size = len(said)
    tar.addfile(found, io.BytesIO(said))


def sum_file(target):
    return target.with_name(target.name + ".sha256")


def _write_sum(target, digest):
    sum_file(target).write_text(f"{digest}  {target.name}\n", encoding="ascii")


def read_sum(target):
    """The SHA-256 that lies beside the backup. Raises Failed."""
    try:
        return sum_file(target).read_text(encoding="ascii").split()[0]
    except (OSError, IndexError, UnicodeDecodeError) as error:
        raise Failed(
            f"There is no {sum_file(target).name} beside the backup, so nobody can tell whether it is whole. "
            "Take another backup, or bring that file from where this one was copied from."
        ) from error


def sha256(path):
    with open(path, "rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def check(path, *, expected):
    """Read the whole backup back and hold it against its sums; returns its Contents. Raises Failed."""
    if sha256(path) != expected:
        raise Failed(f"{path} is not what was written: its SHA-256 differs. Take another backup.")
    try:
        with gzip.open(path) as unpacked:
            # To its very end, where gzip's own sum stands.
            while unpacked.read(CHUNK):
                pass
        with tarfile.open(path, "r:gz") as tar:
            contents = Contents(**json.load(tar.extractfile(LIST)))
            for name, digest in contents.files.items():
                if _digest(tar.extractfile(name)) != digest:
                    raise Failed(f"{name} in {path} is not what was written. Take another backup.")
    except (tarfile.TarError, EOFError, KeyError, TypeError, ValueError, gzip.BadGzipFile, zlib.error) as error:
        raise Failed(f"{path} is no backup of this program: {error}.") from error
    if contents.form != FORM:
        raise Failed(f"{path} is a backup of the form {contents.form}; this version reads {FORM}. Use a newer version.")
    return contents


def _digest(file):
    digest = hashlib.sha256()
    while chunk := file.read(CHUNK):
        digest.update(chunk)
    return digest.hexdigest()


def take_out(path, *, to):
    """Copy the database out of the backup to the path `to`."""
    with tarfile.open(path, "r:gz") as tar, open(to, "wb") as file:
        found = tar.extractfile(DATABASE)
        while chunk := found.read(CHUNK):
            file.write(chunk)


def take_out_letters(path, *, to):
    """Copy the letters into the folder `to`, save those that lie there already; returns how many were copied."""
    copied = 0
    with tarfile.open(path, "r:gz") as tar:
        for found in tar:
            name = Path(found.name).name
            if found.isfile() and found.name == f"{OUTBOX}{name}" and not (to / name).exists():
                to.mkdir(parents=True, exist_ok=True)
                (to / name).write_bytes(tar.extractfile(found).read())
                copied += 1
    return copied


def _sync_folder(folder):
    opened = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(opened)
    finally:
        os.close(opened)
