"""What stands around every page: headers, cookies and transport."""

import re

import pytest
from django.conf import settings
from django.test import Client
from django.urls import reverse

from orders import roles
from tests import factories
from tests.config.starting import KEY, MEMORY, ROOT, WITH_HTTPS, printed, started
from tests.orders.who_may_open import address, patterns
from tests.whole_workshop import in_addresses

PASSWORD = "a-long-passphrase"


@pytest.fixture
def everybody(client):
    found = factories.person(*roles.ROLE_NAMES, name="alex")
    client.force_login(found)
    return found


def policy_of(answer):
    directives = (each.split() for each in answer.headers["Content-Security-Policy"].split(";"))
    return {name: sources for name, *sources in directives}


# Headers


@pytest.mark.once
@pytest.mark.django_db
def test_every_answer_says_what_browsers_may_do_with_it(client, everybody):
    values, wrong = in_addresses(factories.released()[0]), {}
    for pattern in patterns():
        if pattern.name in ("sign-out", "health", "ready", "metrics"):
            continue
        answer = client.get(address(pattern, values))
        policy = policy_of(answer)
        held = {
            "policy": policy["frame-ancestors"] == ["'none'"] and policy["base-uri"] == ["'none'"],
            "nosniff": answer.headers["X-Content-Type-Options"] == "nosniff",
            "referrer": answer.headers["Referrer-Policy"] == "same-origin",
            "opener": answer.headers["Cross-Origin-Opener-Policy"] == "same-origin",
            "resource": answer.headers["Cross-Origin-Resource-Policy"] == "same-origin",
            "devices": "camera=(self)" in answer.headers["Permissions-Policy"],
            "type": re.match("text/[^;]+; charset=utf-8|application/", answer.headers["Content-Type"]),
            "no other origin": "Access-Control-Allow-Origin" not in answer.headers,
        }
        wrong |= {(pattern.name, name): False for name, right in held.items() if not right}
    assert wrong == {}


@pytest.mark.once
@pytest.mark.django_db
def test_no_page_of_the_office_is_kept_by_a_browser(client, everybody):
    values, kept = in_addresses(factories.released()[0]), {}
    for pattern in patterns():
        if getattr(pattern.callback, "roles", ()) and not pattern.callback.bench:
            control = client.get(address(pattern, values)).headers["Cache-Control"]
            if "no-store" not in control:
                kept[pattern.name] = control
    assert kept == {}


@pytest.mark.django_db
def test_a_page_may_load_nothing_but_what_this_server_sends(client):
    policy = policy_of(client.get(reverse("sign-in")))
    assert policy.pop("default-src") == ["'none'"]
    assert {name for name, sources in policy.items() if sources == ["'none'"]} == {
        "frame-ancestors",
        "base-uri",
        "object-src",
    }
    others = [sources for sources in policy.values() if sources != ["'none'"]]
    assert all(sources == ["'self'"] for sources in others)
    assert {"script-src", "style-src", "connect-src", "form-action"} <= policy.keys()


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("live", "origin"),
    [
        (":8001/live/", "http://localhost:8001"),
        ("/live/", "'self'"),
        ("https://live.blinds.example/live/", "https://live.blinds.example"),
    ],
)
def test_the_stream_of_changes_may_come_from_where_it_is_and_from_nowhere_else(client, settings, live, origin):
    settings.LIVE_URL = live
    policy = policy_of(client.get(reverse("sign-in"), HTTP_HOST="localhost:8000"))
    assert set(policy["connect-src"]) == {"'self'", origin}


@pytest.mark.django_db
def test_a_file_of_ours_and_an_error_have_the_same_policy(client):
    for path in ("/static/img/mark.svg", "/nowhere/"):
        answer = client.get(path)
        answer.close()
        assert policy_of(answer)["script-src"] == ["'self'"]
        assert answer.headers["X-Content-Type-Options"] == "nosniff"


INLINE = r"<script>|<style|\sstyle=|\son[a-z]+=|javascript:|hx-on|hx-vals=.js:|\|safe\b"


def test_no_page_has_a_script_or_style_written_into_it():
    """Templates of papers are no pages: what lays them out runs no scripts and loads nothing."""
    wrong = []
    for template in ROOT.glob("templates/**/*.html"):
        if template.parent.name != "labels":
            text = template.read_text()
            wrong += [(template.name, each) for each in re.findall(INLINE, text)]
    assert wrong == []


@pytest.mark.parametrize("sign", ["eval(", "new Function(", ".innerHTML", "document.write(", "parent.postMessage("])
def test_no_script_makes_code_of_text(sign):
    """working.js puts in what a template of ours has made and escaped."""
    found = {path.name for path in (ROOT / "static/js").glob("*.js") if sign in path.read_text()}
    assert found == ({"working.js"} if sign == ".innerHTML" else set())


def test_nothing_is_loaded_from_elsewhere():
    for path in [*ROOT.glob("templates/**/*.html"), *ROOT.glob("static/**/*.css"), *ROOT.glob("static/js/*.js")]:
        assert not re.search(r"""(?:src|href)=["'](?:https?:)?//|url\(["']?(?:https?:)?//""", path.read_text()), path


# Cookies


@pytest.mark.django_db
def test_scripts_read_no_session_and_other_sites_send_no_cookie(client):
    factories.person("sales", name="nora")
    client.post(reverse("sign-in"), {"username": "nora", "password": PASSWORD})
    session = client.cookies[settings.SESSION_COOKIE_NAME]
    assert session["httponly"]
    assert session["samesite"] == "Lax"
    assert client.cookies[settings.CSRF_COOKIE_NAME]["samesite"] == "Lax"


@pytest.mark.django_db
def test_a_form_from_another_site_is_refused():
    client = Client(enforce_csrf_checks=True)
    client.force_login(factories.person("sales"))
    answer = client.post(reverse("customer-new"), {"name": "Unseen"}, HTTP_ORIGIN="https://elsewhere.example")
    assert answer.status_code == 403


# Transport

PRINTED = """
import django, json
from django.conf import settings
django.setup()
from production import tablets
names = ("SECURE_SSL_REDIRECT SESSION_COOKIE_SECURE CSRF_COOKIE_SECURE LANGUAGE_COOKIE_SECURE BEHIND_PROXY "
         "SECURE_HSTS_SECONDS SECURE_HSTS_INCLUDE_SUBDOMAINS SESSION_COOKIE_NAME CSRF_COOKIE_NAME LANGUAGE_COOKIE_NAME")
print(json.dumps({**{name: getattr(settings, name) for name in names.split()}, "tablet": tablets.COOKIE}))
"""
ASKED = """
import django, json
django.setup()
from django.core.management import call_command
from django.test import Client
call_command("migrate", verbosity=0)
client = Client(HTTP_HOST="blinds.example")
ours = {"HTTP_X_FORWARDED_PROTO": "https"}
plain, safe = client.get("/sign-in/"), client.get("/sign-in/", **ours)
api = client.get("/api/v1/orders", HTTP_AUTHORIZATION="Bearer rw_any")
print(json.dumps({
    "plain": [plain.status_code, plain.headers.get("Location")],
    "hsts": safe.headers.get("Strict-Transport-Security"),
    "cookie": str(safe.cookies.get("__Host-csrftoken")),
    "api": [api.status_code, api.json()["detail"]],
}))
"""


@pytest.mark.once
def test_with_https_on_cookies_go_by_tls_alone_and_browsers_remember_it():
    said = printed(PRINTED, **WITH_HTTPS)
    assert {name: value for name, value in said.items() if value is not True} == {
        "SECURE_HSTS_SECONDS": 31_536_000,
        "SESSION_COOKIE_NAME": "__Host-sessionid",
        "CSRF_COOKIE_NAME": "__Host-csrftoken",
        "LANGUAGE_COOKIE_NAME": "__Host-django_language",
        "tablet": "__Host-tablet",
    }


@pytest.mark.once
def test_with_https_on_people_are_led_there_and_programs_refused():
    said = printed(ASKED, **WITH_HTTPS)
    assert said["plain"] == [301, "https://blinds.example/sign-in/"]
    assert said["hsts"] == "max-age=31536000; includeSubDomains"
    assert "Secure" in said["cookie"]
    assert "Path=/" in said["cookie"]
    assert "Domain" not in said["cookie"]
    assert said["api"][0] == 401
    assert said["api"][1].startswith("Ask by https.")


@pytest.mark.once
def test_a_workshop_without_https_works_by_choice():
    said = printed(PRINTED)
    assert said["SECURE_SSL_REDIRECT"] is False
    assert said["tablet"] == "tablet"


@pytest.mark.once
def test_the_deployment_check_finds_nothing_in_the_sample_settings():
    lines = (ROOT / "config/install/sample.env").read_text().splitlines()
    sample = dict(line.split("=", 1) for line in lines if line and not line.startswith("#"))
    assert (sample["HTTPS"], sample["SECRET_KEY"]) == ("on", "")
    own = {name: value.strip('"') for name, value in sample.items()} | {"SECRET_KEY": KEY, "DATABASE_URL": MEMORY}
    done = started("manage.py", "check", "--deploy", "--fail-level", "WARNING", **own)
    assert done.returncode == 0, done.stderr


@pytest.mark.once
def test_the_deployment_check_would_find_something():
    done = started("manage.py", "check", "--deploy", "--fail-level", "WARNING")
    assert done.returncode != 0
    assert "security.W008" in done.stderr


# Methods and addresses


@pytest.mark.once
@pytest.mark.django_db
@pytest.mark.parametrize("method", ["TRACE", "CONNECT"])
def test_no_view_answers_to_a_method_that_reflects_or_tunnels(client, everybody, method):
    values = in_addresses(factories.released()[0])
    reflected = []
    for pattern in patterns():
        answer = client.generic(method, address(pattern, values), HTTP_X_MARK="reflect-me")
        if b"reflect-me" in answer.content:
            reflected.append(pattern.name)
    assert reflected == []


@pytest.mark.django_db
def test_what_only_takes_a_press_does_nothing_when_it_is_opened(client, everybody):
    names = {"sign-out", "language", "own-others-end", "signed-in-end", "badge-new", "badge-take", "tablet-retire"}
    values = in_addresses(factories.released()[0]) | {"pk": everybody.pk}
    found = {each.name: client.get(address(each, values)).status_code for each in patterns() if each.name in names}
    assert found == dict.fromkeys(names, 405)


@pytest.mark.django_db
@pytest.mark.parametrize(
    "path", ["/static/", "/static/js/", "/.git/config", "/config/settings.py", "/railwright.sqlite3"]
)
def test_no_folder_is_listed_and_no_file_of_the_server_is_served(client, path):
    assert client.get(path, follow=True).status_code == 404


@pytest.mark.django_db
def test_no_error_shows_how_the_server_is_made(client, everybody, monkeypatch):
    client.raise_request_exception = False
    monkeypatch.setattr("orders.views.customers.found_customers", lambda text: 1 / 0)
    answer = client.get(reverse("customers"))
    assert answer.status_code == 500
    for each in ("Traceback", "ZeroDivisionError", "site-packages", "Django"):
        assert each not in answer.content.decode()
