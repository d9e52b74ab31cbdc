"""The pages for when something went wrong stand by themselves and say what to do."""

import pytest
from django.test import RequestFactory
from django.views import defaults


@pytest.mark.parametrize(
    ("answer", "status", "said"),
    [
        (lambda request: defaults.server_error(request), 500, "What was saved before is safe"),
        (lambda request: defaults.bad_request(request, ValueError("bad")), 400, "Go back, reload the page"),
    ],
)
def test_a_broken_page_needs_nothing_that_may_be_broken_too(answer, status, said):
    # Neither a person nor a database: this test may not touch one.
    page = answer(RequestFactory().get("/orders/"))
    assert page.status_code == status
    assert said in page.content.decode()


@pytest.mark.django_db
def test_a_page_that_does_not_exist_is_said_so_even_to_somebody_not_signed_in(client):
    page = client.get("/no-such-page/")
    assert page.status_code == 404
    assert "Nothing is here" in page.content.decode()
