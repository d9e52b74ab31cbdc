from django.urls import include, path

urlpatterns = [
    path("", include("orders.urls")),
    path("", include("production.urls")),
    path("", include("production.api.urls")),
]
