from django.urls import include, path

handler500 = "config.errors.server_error"

urlpatterns = [
    path("", include("config.health")),
    path("stations/", include("production.station_urls")),
    path("", include("orders.urls")),
    path("", include("production.urls")),
    path("", include("production.api.urls")),
]
