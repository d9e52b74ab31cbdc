from django.urls import path

from production.views import blind, figures, order_at_work, parts, release

urlpatterns = [
    path("figures/", figures.figures, name="figures"),
    path("find/", blind.find, name="find"),
    path("orders/<int:number>/release/", release.release, name="release"),
    path("orders/<int:number>/at-work/", order_at_work.order_at_work, name="order-at-work"),
    path("orders/<int:number>/parts/", parts.order_parts, name="order-parts"),
    path("blinds/<str:code>/", blind.blind, name="blind"),
]
