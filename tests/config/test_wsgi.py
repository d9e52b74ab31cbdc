"""Anything but UTF-8 is refused before a word of it is read, and what says that it is UTF-8 is read as ever."""

import pytest
from django.test import RequestFactory

from config.wsgi import application

pytestmark = pytest.mark.django_db
TYPED = "application/x-www-form-urlencoded"


def ask(path, *, content_type, method="POST", body=b"", query=""):
    environ = RequestFactory().generic(method, path, body, content_type=content_type).environ
    answered = {}

    def start_response(status, headers, exc_info=None):
        answered.update(status=int(status[:3]), headers=dict(headers))

    said = application(environ | {"QUERY_STRING": query}, start_response)
    return answered["status"], b"".join(said).decode()


@pytest.mark.parametrize("charset", ["rot13", "idna", "hex", "utf-16", "latin-1", "no-such"])
@pytest.mark.parametrize("method", ["GET", "POST"])
def test_what_is_sent_in_another_alphabet_is_refused_and_breaks_nothing(charset, method):
    status, said = ask(
        "/sign-in/", method=method, content_type=f"{TYPED}; charset={charset}", body=b"a=b", query="q=%ff"
    )
    assert (status, said) == (415, f"This was sent as {charset}. Send it as UTF-8.")


def test_more_values_than_are_taken_are_refused_too_where_the_charset_is_named():
    status, _ = ask("/find/", method="GET", content_type=f"{TYPED}; charset=utf-8", query="q=1&" * 5000)
    assert status in (302, 400)


@pytest.mark.parametrize("said", ["; charset=UTF-8", ";charset=utf8", "", '; charset="utf-8"'])
def test_utf8_is_read_whether_it_is_named_or_not(said):
    body = "username=Ágnes&password=wrong".encode()
    status, page = ask("/sign-in/", content_type=f"{TYPED}{said}", body=body)
    # Refused, since it bears no token, and not before.
    assert status == 403
    assert "nothing was done" in page


def test_the_parts_of_a_form_with_a_file_are_still_found():
    body = b'--a b\r\nContent-Disposition: form-data; name="username"\r\n\r\nx\r\n--a b--\r\n'
    status, _ = ask("/sign-in/", content_type='multipart/form-data; charset=utf-8; boundary="a b"', body=body)
    assert status == 403
