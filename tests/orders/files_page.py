"""A customer's file as a browser hands it in: chosen, looked at, and taken in."""

from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse


def uploaded(name, content):
    return {"file": SimpleUploadedFile(name, content)}


def chosen(client, customer, content, name="march.csv"):
    """The file's page after it was chosen on the customer's."""
    answer = client.post(reverse("files", args=[customer.pk]), uploaded(name, content), follow=True)
    assert answer.status_code == 200, answer.content.decode()
    return answer


def sent(answer, **changed):
    """What the browser sends from a file's page: every field as it stands, save those changed."""
    form = answer.context["form"]
    values = {bound.html_name: bound.value() for bound in form if bound.name != "again"}
    shown = {name: "" if value is None else value for name, value in values.items()}
    return {**shown, "sound": answer.context["sound"], **changed}


def pressed(client, answer, *, then="take", follow=True, **changed):
    return client.post(answer.context["file"].get_absolute_url(), sent(answer, then=then, **changed), follow=follow)
