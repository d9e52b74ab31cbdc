"""A code from an app after the password: by the standard's own values, once each, and no phone lost for good."""

import base64
import datetime as dt

import pyotp
import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from orders import second_step
from orders.models import AuditEntry, SecondStep, SpareCode
from tests import factories
from tests.config.starting import printed, started
from tests.tablets import enrolled

pytestmark = pytest.mark.django_db
PASSWORD, ANOTHER = "a-long-passphrase", "kettle-ladder-orchard"
CODE = "sign-in-code"


@pytest.fixture
def nora():
    return factories.person("sales", name="nora")


@pytest.fixture
def app(nora):
    """Nora's app: a function that says the code of now, or of so many codes later. Her spare codes are `app.spare`."""
    key = second_step.new_key()

    def code(later=0):
        return pyotp.TOTP(key).at(timezone.now(), counter_offset=later)

    code.spare = second_step.set_up(person=nora, key=key, typed=code(-1))
    return code


def begin(client, password=PASSWORD, **query):
    return client.post(reverse("sign-in", query=query), {"username": "nora", "password": password})


def finish(client, typed, **headers):
    return client.post(reverse(CODE), {"code": typed}, **headers)


def is_in(client):
    return client.get(reverse("orders")).status_code == 200


# The standard


@pytest.mark.parametrize(
    ("seconds", "code"),
    [
        (59, "94287082"),
        (1111111109, "07081804"),
        (1111111111, "14050471"),
        (1234567890, "89005924"),
        (2000000000, "69279037"),
        (20000000000, "65353130"),
    ],
)
def test_the_standards_own_values_are_right_and_their_neighbours_two_steps_off_are_not(
    nora, monkeypatch, seconds, code
):
    """RFC 6238, appendix B, SHA-1, key '12345678901234567890'. It prints eight digits; six are their last six."""
    key = base64.b32encode(b"12345678901234567890").decode()
    SecondStep.objects.create(person=nora, key=key, since=timezone.now(), last_counted=0)

    def is_right_after(later):
        at = dt.datetime.fromtimestamp(seconds + later, tz=dt.UTC)
        monkeypatch.setattr("django.utils.timezone.now", lambda: at)
        return second_step.is_right(person=nora, typed=code[-6:])

    assert not is_right_after(60)
    assert is_right_after(0)


def test_the_picture_says_what_apps_read_and_the_key_has_160_bits(nora, settings):
    settings.WORKSHOP_NAME = "Harbour Lane"
    key = second_step.new_key()
    assert len(base64.b32decode(key)) * 8 == 160
    assert second_step.address(key, person=nora) == (
        f"otpauth://totp/Harbour%20Lane:nora?secret={key}&issuer=Harbour%20Lane"
    )
    assert second_step.new_key() != key


# Signing in


def test_the_password_alone_opens_nothing_and_the_code_leads_where_one_wanted_to_go(client, app):
    asked = client.get(reverse("customers")).url
    answer = client.post(asked, {"username": "nora", "password": PASSWORD, "next": reverse("customers")})
    assert answer.url == reverse(CODE)
    assert not is_in(client)
    page = client.get(reverse(CODE)).content.decode()
    assert 'autocomplete="one-time-code"' in page
    assert finish(client, app()).url == reverse("customers")
    assert is_in(client)
    assert AuditEntry.objects.get(what="signed-in").words == "nora, by password and code"
    assert "password and code" in client.get(reverse("own-sign-in")).content.decode()


def test_a_code_is_good_once(client, app):
    code = app()
    begin(client)
    assert finish(client, code).status_code == 302
    other = Client()
    begin(other)
    refused = finish(other, code)
    assert refused.status_code == 422
    assert "was used before" in refused.content.decode()
    assert finish(other, app(-1)).status_code == 422
    assert finish(other, app(1)).status_code == 302


def test_of_two_who_send_the_same_code_at_once_one_is_let_in(nora, app):
    step, counted = second_step.of(nora), second_step._counted(second_step.of(nora).key, app())
    assert second_step._is_first(step, counted)
    # The other one had read the row before that was written.
    assert not second_step._is_first(step, counted)


def test_a_code_of_a_minute_ago_or_of_another_app_is_not_taken(client, app, later):
    begin(client)
    old = app()
    other = pyotp.TOTP(second_step.new_key()).at(timezone.now())
    assert finish(client, other).status_code == 422
    later(seconds=61)
    assert finish(client, old).status_code == 422
    assert finish(client, app()).status_code == 302


def test_a_clock_that_is_set_back_locks_nobody_out(client, app, later):
    later(hours=5)
    begin(client)
    assert finish(client, app()).status_code == 302
    later(hours=-5)
    other = Client()
    begin(other)
    assert finish(other, app()).status_code == 302


def test_a_spare_code_lets_in_once_however_it_is_typed(client, nora, app):
    first, second = app.spare[:2]
    begin(client)
    assert "Spare code" in client.get(reverse(CODE), {"spare": 1}).content.decode()
    assert finish(client, f" {first.lower().replace('-', ' ')} ").status_code == 302
    other = Client()
    begin(other)
    assert finish(other, first).status_code == 422
    assert finish(other, second).status_code == 302
    assert second_step.spare_left(nora) == second_step.SPARE_CODES - 2
    assert AuditEntry.objects.filter(what="spare-code-used", person=nora).count() == 2


def test_spare_codes_have_120_bits_and_are_kept_as_hashes(nora, app):
    assert len(set(app.spare)) == second_step.SPARE_CODES
    assert {len(base64.b32decode(code.replace("-", ""))) * 8 for code in app.spare} == {120}
    kept = str(list(SpareCode.objects.values())) + str(list(AuditEntry.objects.values()))
    assert not [code for code in app.spare if code in kept or code.replace("-", "") in kept]
    assert SecondStep.objects.get().key not in str(list(AuditEntry.objects.values()))


def test_wrong_codes_are_held_up_the_right_one_too_and_told_at_the_next_sign_in(client, nora, app, later):
    begin(client)
    assert finish(client, app()).status_code == 302
    later(minutes=2)
    thief = Client()
    begin(thief)
    for _ in range(10):
        assert finish(thief, "000000", REMOTE_ADDR="10.0.0.9").status_code == 422
    held_up = finish(thief, app()).content.decode()
    assert "Too many wrong tries. Wait 15 minutes" in held_up
    assert AuditEntry.objects.filter(what="wrong-code", thing=str(nora.pk)).count() == 11
    later(minutes=15)
    own = Client()
    begin(own)
    page = own.post(reverse(CODE), {"code": app()}, follow=True).content.decode()
    assert "since you signed in last: 11." in page


def test_a_wrong_password_never_comes_as_far_as_the_code(client, app):
    assert begin(client, "wrong").status_code == 200
    assert finish(client, app()).url == reverse("sign-in")
    assert not is_in(client)


@pytest.mark.parametrize("what", ["time", "inactive", "password"])
def test_who_is_halfway_is_out_after_ten_minutes_or_when_that_password_is_none_any_more(client, nora, app, later, what):
    begin(client)
    if what == "time":
        later(minutes=11)
    elif what == "inactive":
        nora.is_active = False
    else:
        nora.set_password(ANOTHER)
    nora.save()
    answer = finish(client, app())
    assert answer.url == reverse("sign-in")
    assert "Begin with your name and password" in client.get(answer.url).content.decode()
    assert not is_in(client)


def test_on_an_enrolled_tablet_it_is_asked_for_too(client, app):
    enrolled(client)
    assert begin(client, by="password").url == reverse(CODE)
    assert not is_in(client)
    assert finish(client, app()).status_code == 302
    assert client.session.get_expiry_age() <= 60 * 60


def test_another_password_does_not_get_round_it(client, nora, app):
    boss = Client()
    boss.force_login(factories.person("administrator"))
    boss.post(reverse("person-password", args=[nora.pk]), {"new_password1": ANOTHER, "new_password2": ANOTHER})
    assert begin(client, ANOTHER).url == reverse(CODE)
    assert not is_in(client)


def test_where_the_password_is_asked_for_again_so_is_a_code(client, app, later):
    begin(client)
    finish(client, app())
    later(minutes=16)
    confirm, wanted = reverse("confirm"), reverse("own-second-step")
    assert client.get(wanted).url.startswith(confirm)
    for wrong in ({"password": PASSWORD}, {"password": PASSWORD, "code": "000000"}, {"password": "no", "code": app()}):
        assert client.post(confirm, wrong | {"next": wanted}).status_code == 422
    # The code that stood beside the wrong password is not used up.
    assert client.post(confirm, {"password": PASSWORD, "code": app(), "next": wanted}).url == wanted


# Setting it up, and away


def key_on(page):
    return page.context["key"].replace(" ", "")


def sign_in_as(name):
    client = Client()
    assert client.post(reverse("sign-in"), {"username": name, "password": PASSWORD}).status_code == 302
    return client


def test_one_sets_it_up_with_a_code_and_sees_the_spare_codes_once(nora):
    here, there = sign_in_as("nora"), sign_in_as("nora")
    page = here.get(reverse("own-second-step"))
    key = key_on(page)
    assert key_on(here.get(reverse("own-second-step"))) == key
    assert second_step.of(nora) is None
    wrong = here.post(reverse("own-second-step"), {"code": "000000"})
    assert wrong.status_code == 422
    assert "doesn&#x27;t fit this key" in wrong.content.decode()
    code = pyotp.TOTP(key).at(timezone.now())
    done = here.post(reverse("own-second-step"), {"code": code})
    codes = done.context["codes"]
    assert len(codes) == second_step.SPARE_CODES
    assert all(each in done.content.decode() for each in codes)
    assert "no-store" in done.headers["Cache-Control"]
    assert not is_in(there)
    assert is_in(here)
    again = here.get(reverse("own-second-step"))
    assert key_on(again) != key
    assert not [each for each in codes if each in again.content.decode()]
    # The code that set it up is used up.
    assert begin(there).url == reverse(CODE)
    assert finish(there, code).status_code == 422
    assert AuditEntry.objects.filter(what="second-step-set", person=nora).count() == 1


def test_new_spare_codes_take_the_place_of_those_before(client, nora, app):
    begin(client)
    finish(client, app())
    codes = client.post(reverse("own-spare-codes")).context["codes"]
    assert second_step.spare_left(nora) == second_step.SPARE_CODES
    assert not second_step.is_right(person=nora, typed=app.spare[0])
    assert second_step.is_right(person=nora, typed=codes[0])


def test_one_takes_it_away_where_no_role_asks_for_it(client, nora, app, settings):
    begin(client)
    finish(client, app())
    settings.SECOND_STEP_FOR = ["sales"]
    answer = client.post(reverse("own-second-step-remove"), follow=True)
    assert "Your roles ask for a second step." in answer.content.decode()
    assert second_step.of(nora)
    settings.SECOND_STEP_FOR = []
    client.post(reverse("own-second-step-remove"))
    assert (second_step.of(nora), second_step.spare_left(nora)) == (None, 0)
    assert begin(Client()).url == "/"


def test_an_administrator_takes_that_of_somebody_who_lost_it(client, nora, app):
    begin(client)
    finish(client, app())
    factories.person("administrator", name="ada")
    boss = sign_in_as("ada")
    assert "Take the second step away" in boss.get(reverse("person", args=[nora.pk])).content.decode()
    answer = boss.post(reverse("person-second-step-remove", args=[nora.pk]), follow=True)
    assert "nora signs in with the password alone now" in answer.content.decode()
    assert not is_in(client)
    assert begin(Client()).url == "/"
    entry = AuditEntry.objects.get(what="second-step-taken")
    assert (entry.person.username, entry.thing) == ("ada", str(nora.pk))
    assert boss.get(reverse("person-second-step-remove", args=[nora.pk])).status_code == 405


# Where roles ask for it


def test_whose_role_asks_for_it_is_kept_on_its_page_until_it_is_set_up(nora, settings):
    settings.SECOND_STEP_FOR = ["sales"]
    client = sign_in_as("nora")
    assert client.get(reverse("orders")).url == reverse("own-second-step")
    assert client.get(reverse("own-sign-in")).url == reverse("own-second-step")
    page = client.get(reverse("own-second-step"))
    assert "Your roles ask for a second step" in page.content.decode()
    code = pyotp.TOTP(key_on(page)).at(timezone.now())
    assert client.post(reverse("own-second-step"), {"code": code}).status_code == 200
    assert is_in(client)


def test_others_and_who_signs_in_with_one_are_not(client, nora, app, settings):
    settings.SECOND_STEP_FOR = ["sales"]
    factories.person("manager", name="greta")
    assert sign_in_as("greta").get(reverse("orders")).status_code == 200
    begin(client)
    finish(client, app())
    assert is_in(client)


@pytest.mark.once
def test_the_setting_names_roles():
    named = "from django.conf import settings; import json; print(json.dumps(settings.SECOND_STEP_FOR))"
    assert printed(named, SECOND_STEP_FOR="manager,administrator") == ["manager", "administrator"]
    refused = started("manage.py", "check", SECOND_STEP_FOR="owner")
    assert "names owner, which is no role. Choose from sales" in refused.stderr
