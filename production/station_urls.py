"""What the tablets ask for, under /stations/: found first, since they ask the most."""

from django.urls import path

from .views import offline, outbox, station_blind, station_record, stations

urlpatterns = [
    path("", stations.stations, name="stations"),
    path("outbox/", outbox.outbox, name="outbox"),
    path("away/", offline.away, name="away"),
    path("<str:station>/", stations.station, name="station"),
    path("<str:station>/queue/", stations.station_queue, name="station-queue"),
    path("<str:station>/scan/", stations.scan, name="scan"),
    path("<str:station>/<str:code>/", station_blind.station_blind, name="station-blind"),
    path("<str:station>/<str:code>/record/", station_record.station_record, name="station-record"),
]
