from django.urls import path

from production.views import blind, figures, order_at_work, parts, release, station_blind, stations

urlpatterns = [
    path("figures/", figures.figures, name="figures"),
    path("find/", blind.find, name="find"),
    path("orders/<int:number>/release/", release.release, name="release"),
    path("orders/<int:number>/at-work/", order_at_work.order_at_work, name="order-at-work"),
    path("orders/<int:number>/parts/", parts.order_parts, name="order-parts"),
    path("blinds/<str:code>/", blind.blind, name="blind"),
    path("stations/", stations.stations, name="stations"),
    path("stations/<str:station>/", stations.station, name="station"),
    path("stations/<str:station>/queue/", stations.station_queue, name="station-queue"),
    path("stations/<str:station>/scan/", stations.scan, name="scan"),
    path("stations/<str:station>/<str:code>/", station_blind.station_blind, name="station-blind"),
    path("stations/<str:station>/<str:code>/record/", station_blind.station_record, name="station-record"),
]
