from django.urls import include, path

urlpatterns = [
    path("", include("orders.urls")),
    path("", include("production.urls")),
]
