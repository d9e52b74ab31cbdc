"""What the environment says of mail and of the letterhead, as the settings read it."""

import runpy

import pytest
from django.conf import settings
from django.core.exceptions import ImproperlyConfigured

NAMES = ("EMAIL_URL", "MAIL_FROM", "WORKSHOP_ADDRESS", "WORKSHOP_PHONE", "WORKSHOP_EMAIL", "WORKSHOP_REGISTRATION")


@pytest.fixture
def read(monkeypatch):
    """Function that reads the settings anew with these values in the environment."""

    def settings_of(**values):
        for name in NAMES:
            monkeypatch.delenv(name, raising=False)
        for name, value in values.items():
            monkeypatch.setenv(name, value)
        return runpy.run_path(str(settings.BASE_DIR / "config" / "settings.py"))

    return settings_of


def test_without_a_mail_server_letters_are_files_beside_the_program(read):
    found = read()
    assert found["EMAIL_BACKEND"] == "django.core.mail.backends.filebased.EmailBackend"
    assert found["EMAIL_FILE_PATH"] == settings.BASE_DIR / "outbox"
    assert found["WORKSHOP_ADDRESS"] == []


@pytest.mark.parametrize(
    ("scheme", "port", "secured"), [("smtp+tls", 587, "EMAIL_USE_TLS"), ("smtp+ssl", 465, "EMAIL_USE_SSL")]
)
def test_a_mail_server_is_named_by_one_address(read, scheme, port, secured):
    found = read(
        EMAIL_URL=f"{scheme}://office%40blinds.example:p%2Fw@mail.example:{port}", MAIL_FROM="a@blinds.example"
    )
    names = ("EMAIL_BACKEND", "EMAIL_HOST", "EMAIL_PORT", "EMAIL_HOST_USER", "EMAIL_HOST_PASSWORD", secured)
    smtp = "django.core.mail.backends.smtp.EmailBackend"
    assert [found[name] for name in names] == [smtp, "mail.example", port, "office@blinds.example", "p/w", True]
    assert found["DEFAULT_FROM_EMAIL"] == "a@blinds.example"
    assert 0 < found["EMAIL_TIMEOUT"] < 30


def test_a_mail_server_without_a_sender_is_refused(read):
    with pytest.raises(ImproperlyConfigured, match="Set MAIL_FROM to the sender's address"):
        read(EMAIL_URL="smtp://mail.example", MAIL_FROM="")


@pytest.mark.parametrize("url", ["consolemail://", "filemail:///tmp/letters", "dummymail://", "smtp://"])
def test_what_is_no_mail_server_is_refused(read, url):
    with pytest.raises(ImproperlyConfigured, match="EMAIL_URL names no mail server"):
        read(EMAIL_URL=url, MAIL_FROM="a@blinds.example")


def test_the_address_is_typed_in_lines_with_semicolons_between(read):
    found = read(WORKSHOP_ADDRESS="Sail Loft Yard, 12 Harbour Lane; Eastwick ;")
    assert found["WORKSHOP_ADDRESS"] == ["Sail Loft Yard, 12 Harbour Lane", "Eastwick"]
