"""A password from the owner's list of stolen ones is refused wherever in the list it stands."""

import hashlib
import random

import pytest
from django.core.exceptions import ImproperlyConfigured, ValidationError
from hypothesis import given, settings
from hypothesis import strategies as st

from orders.breached import NotBreached, require_list
from tests.config.starting import printed, started

PASSWORDS = st.text(st.characters(codec="utf-8"), max_size=12)
# SHA-1 of "abc": FIPS 180-4, example of the Secure Hash Standard.
ABC = "A9993E364706816ABA3E25717850C26C9CD0D89D"


ASKED = """
import json
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError

def said_of(password):
    try:
        validate_password(password)
    except ValidationError as refused:
        return " ".join(refused.messages)
    return ""

print(json.dumps({each: said_of(each) for each in ("gulls over the harbour at noon", "kettle-ladder-orchard")}))
"""


def listed(path, passwords, *, counted=True, ends="\r\n", capitals=True):
    """A list as those that are given away: in capitals or not, with how often each was seen or without."""
    hashes = sorted(hashlib.sha1(each.encode(), usedforsecurity=False).hexdigest() for each in passwords)
    pick = random.Random(38)
    seen = [f":{pick.randint(1, 10**7)}" if counted else "" for _ in hashes]
    lines = [f"{each.upper() if capitals else each}{often}" for each, often in zip(hashes, seen, strict=True)]
    path.write_bytes(ends.join(lines).encode())
    return NotBreached(path=str(path))


def is_refused(validator, password):
    try:
        validator.validate(password)
    except ValidationError as refused:
        return "Choose a few words" in refused.message
    return False


@given(
    known=st.sets(PASSWORDS, min_size=1, max_size=30),
    others=st.sets(PASSWORDS, max_size=10),
    counted=st.booleans(),
    ends=st.sampled_from(["\n", "\r\n"]),
    capitals=st.booleans(),
)
@settings(max_examples=150, deadline=None)
def test_whatever_the_list_holds_is_refused_and_nothing_else(tmp_path_factory, known, others, counted, ends, capitals):
    path = tmp_path_factory.getbasetemp() / "stolen.txt"
    validator = listed(path, known, counted=counted, ends=ends, capitals=capitals)
    assert [each for each in known if not is_refused(validator, each)] == []
    assert [each for each in others - known if is_refused(validator, each)] == []


def test_a_hash_of_the_standards_own_example_is_found(tmp_path):
    (tmp_path / "stolen.txt").write_text(f"{'0' * 40}:1\n{ABC}:3\n{'F' * 40}:2\n")
    validator = NotBreached(path=tmp_path / "stolen.txt")
    assert is_refused(validator, "abc")
    assert not is_refused(validator, "abd")


def test_a_look_reads_little_of_a_long_list(tmp_path, monkeypatch):
    validator = listed(tmp_path / "stolen.txt", map(str, range(20_000)))
    looks = []
    plain = type(tmp_path).open

    class Counted:
        def __init__(self, file):
            self._file = file

        def __enter__(self):
            return self

        def __exit__(self, *raised):
            self._file.close()

        def __getattr__(self, name):
            looks.append(name)
            return getattr(self._file, name)

    monkeypatch.setattr(type(tmp_path), "open", lambda *given: Counted(plain(*given)))
    assert is_refused(validator, "7341")
    # Of 20,000 lines of 48 bytes at most: twenty halvings.
    assert 0 < looks.count("readline") <= 2 * 20


def test_a_list_that_is_gone_lets_none_be_chosen_and_says_whom_to_tell(tmp_path):
    validator = listed(tmp_path / "stolen.txt", ["kettle"])
    (tmp_path / "stolen.txt").unlink()
    with pytest.raises(ValidationError, match="can't be read .No such file or directory.*BREACHED_PASSWORDS names it"):
        validator.validate("gulls over the harbour at noon")


@pytest.mark.parametrize("text", [None, "", "kettle\n", f"{ABC}0\n", f"{ABC[:-1]}\n", f"{ABC[:-1]}G\n"])
def test_what_is_no_list_is_told_at_once(tmp_path, text):
    path = tmp_path / "stolen.txt"
    if text is not None:
        path.write_text(text)
    with pytest.raises(ImproperlyConfigured, match="no list stands there.*Name one, or leave the setting out"):
        require_list(path)


@pytest.mark.once
def test_the_setting_names_the_list(tmp_path):
    listed(tmp_path / "stolen.txt", ["gulls over the harbour at noon"])
    said = printed(ASKED, BREACHED_PASSWORDS=str(tmp_path / "stolen.txt"))
    assert "stolen from somebody elsewhere" in said["gulls over the harbour at noon"]
    assert said["kettle-ladder-orchard"] == ""
    refused = started("manage.py", "check", BREACHED_PASSWORDS="nowhere.txt")
    assert "BREACHED_PASSWORDS is nowhere.txt, and no list stands there" in refused.stderr
