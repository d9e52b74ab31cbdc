from django.urls import path, re_path

from . import addresses, pages
from .gate import nothing

urlpatterns = [
    path("api/", pages.reference, name="api"),
    path("api/v1/openapi.json", pages.openapi, name="api-openapi"),
    path("api/v1/orders", addresses.ORDERS, name="api-orders"),
    path("api/v1/orders/<int:number>", addresses.ORDER, name="api-order"),
    path("api/v1/orders/<int:number>/blinds", addresses.BLINDS, name="api-blinds"),
    path("api/v1/changes", addresses.CHANGES, name="api-changes"),
    path("api/v1/catalogue", addresses.CATALOGUE, name="api-catalogue"),
    path("api/v1/figures", addresses.FIGURES, name="api-figures"),
    re_path(r"^api/v1(?:/.*)?$", nothing, name="api-nothing"),
]
