"""Which language a page is in: a maker's own on the pages that are translated, English on the others."""

import pytest
from django.urls import reverse

from orders.models import Person
from tests.factories import person

pytestmark = pytest.mark.django_db


def language_on(page):
    return page.content.decode().partition('<html lang="')[2].partition('"')[0]


def choose(client, language, back="/stations/"):
    return client.post(reverse("language"), {"language": language, "next": back})


@pytest.fixture
def maker(client):
    found = person("maker")
    client.force_login(found)
    return found


def test_a_station_is_in_the_language_that_its_maker_has_chosen(client, maker):
    assert language_on(client.get(reverse("stations"))) == "en-gb"
    assert choose(client, "es").url == "/stations/"
    page = client.get(reverse("stations"))
    assert language_on(page) == page.headers["Content-Language"] == "es"
    assert Person.objects.get(pk=maker.pk).language == "es"


def test_the_choice_goes_with_the_maker_not_with_the_browser(client, maker):
    choose(client, "es")
    client.force_login(person("maker", language="en-gb"))
    assert language_on(client.get(reverse("stations"))) == "en-gb"


def test_signing_in_is_in_the_language_that_was_last_seen_on_that_browser(client, maker):
    choose(client, "es")
    client.get(reverse("stations"))
    client.post(reverse("sign-out"))
    assert language_on(client.get(reverse("sign-in"))) == "es"
    client.force_login(person("maker", language="en-gb"))
    client.get(reverse("stations"))
    client.post(reverse("sign-out"))
    assert language_on(client.get(reverse("sign-in"))) == "en-gb"


def test_before_anybody_chose_the_browser_is_asked(client):
    assert language_on(client.get(reverse("sign-in"), HTTP_ACCEPT_LANGUAGE="es-MX,es;q=0.9")) == "es"
    page = client.get(reverse("sign-in"), HTTP_ACCEPT_LANGUAGE="fi")
    assert language_on(page) == "en-gb"
    assert "Accept-Language" in page.headers["Vary"]


def test_a_language_is_chosen_before_signing_in_too(client):
    choose(client, "es", back=reverse("sign-in"))
    assert language_on(client.get(reverse("sign-in"))) == "es"


def test_the_workshops_language_is_for_whoever_asks_for_none(client, settings):
    settings.LANGUAGE_CODE = "es"
    assert language_on(client.get(reverse("sign-in"))) == "es"


def test_the_offices_pages_stay_english_as_a_whole(client):
    client.force_login(person("sales", "manager", language="es"))
    page = client.get(reverse("orders"))
    assert language_on(page) == "en-gb"
    assert 'class="languages"' not in page.content.decode()
    assert ">Orders</a>" in page.content.decode()


def test_a_page_offers_its_other_languages_by_their_own_names(client, maker):
    page = client.get(reverse("stations")).content.decode()
    assert '<button class="quiet" name="language" value="es" lang="es">Español</button>' in page
    assert 'value="en-gb"' not in page


@pytest.mark.parametrize("language", ["xx", "", "../es"])
def test_a_language_that_is_not_there_changes_nothing(client, maker, language):
    choose(client, language)
    assert language_on(client.get(reverse("stations"))) == "en-gb"
    assert Person.objects.get(pk=maker.pk).language == ""


@pytest.mark.parametrize("back", ["https://elsewhere.example/", "//elsewhere.example/", "", "javascript:alert(1)"])
def test_the_choice_leads_nowhere_else(client, maker, back):
    assert choose(client, "es", back=back).url == "/"


@pytest.mark.parametrize("back", ["stations", "a word", "-1", "a\0b"])
def test_a_way_back_that_is_no_address_is_no_page_of_that_name(client, maker, back):
    assert choose(client, "es", back=back).status_code == 302


def test_figures_keep_their_point_in_every_language():
    from django.utils.formats import localize
    from django.utils.translation import override

    with override("es"):
        assert localize(63.5) == "63.5"
