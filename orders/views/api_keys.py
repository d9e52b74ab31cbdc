"""The keys that other programs ask with: an administrator makes one, sees it once, and takes it away."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache

from orders import api_keys
from orders.again import password_again
from orders.api_key_forms import ApiKeyForm
from orders.models import ApiKey
from orders.roles import ADMINISTRATOR, role_required


@role_required(ADMINISTRATOR)
@password_again()
@never_cache
def keys(request):
    """The keys, and the form for another. A new key stands on the answer to the form and nowhere else."""
    form, made, secret = ApiKeyForm(request.POST or None), None, ""
    if form.is_valid():
        try:
            made, secret = api_keys.make(**form.key(), by=request.user, at=timezone.now())
            form = ApiKeyForm()
        except api_keys.Refused as refused:
            form.add_error("name", str(refused))
    context = {"form": form, "keys": ApiKey.objects.in_use_first(), "made": made, "secret": secret}
    return render(request, "api_keys.html", context, status=422 if form.is_bound else 200)


@role_required(ADMINISTRATOR)
@password_again()
def key_revoke(request, pk):
    """Asks once more, then takes the key away."""
    key = get_object_or_404(ApiKey, pk=pk)
    if request.method == "POST":
        api_keys.revoke(key=key, by=request.user, at=timezone.now())
        messages.success(request, f"The key {key} opens nothing any more.")
        return redirect("api-keys")
    return render(request, "api_key_revoke.html", {"key": key})
