"""The first person of a workshop is entered at the server itself."""

import getpass

import pytest
from django.core.management import CommandError, call_command
from django.urls import reverse

from orders.models import Person

pytestmark = pytest.mark.django_db
SENTENCE = "gulls over the harbour at noon"


@pytest.fixture
def typing(monkeypatch):
    """Function that says what is typed, one password after the other."""

    def types(*passwords):
        typed = iter(passwords)
        monkeypatch.setattr(getpass, "getpass", lambda prompt: next(typed))

    return types


def test_the_first_person_signs_in_and_lets_others_in(client, typing, capsys):
    typing(SENTENCE, SENTENCE)
    call_command("administrator", "ida")
    assert capsys.readouterr().out == "ida may sign in now, and let others in under People.\n"
    assert Person.objects.get(username="ida").roles == ["administrator", "manager"]
    assert client.login(username="ida", password=SENTENCE)
    assert client.get(reverse("people")).status_code == 200


def test_two_that_differ_enter_nobody(typing):
    typing(SENTENCE, "gulls over the harbour at one")
    with pytest.raises(CommandError, match="were not the same"):
        call_command("administrator", "ida")
    assert not Person.objects.exists()


def test_a_weak_password_and_a_name_in_use_are_refused_in_words(typing):
    typing("short")
    with pytest.raises(CommandError, match="too short"):
        call_command("administrator", "ida")
    typing(SENTENCE, SENTENCE)
    call_command("administrator", "ida")
    with pytest.raises(CommandError, match="already exists"):
        call_command("administrator", "ida")
