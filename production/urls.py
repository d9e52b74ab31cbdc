from django.urls import path

from production.views import (
    blind,
    day,
    figures,
    order_at_work,
    papers,
    parts,
    release,
    rules,
    station_blind,
    stations,
    working,
)

urlpatterns = [
    path("day/", day.day, name="day"),
    path("figures/", figures.figures, name="figures"),
    path("find/", blind.find, name="find"),
    path("orders/<int:number>/release/", release.release, name="release"),
    path("orders/<int:number>/at-work/", order_at_work.order_at_work, name="order-at-work"),
    path("orders/<int:number>/parts/", parts.order_parts, name="order-parts"),
    path("orders/<int:number>/tickets.pdf", papers.order_tickets, name="order-tickets"),
    path("orders/<int:number>/labels.pdf", papers.order_labels, name="order-labels"),
    path("blinds/<str:code>/", blind.blind, name="blind"),
    path("blinds/<str:code>/figures/<str:name>/", working.blind_figure, name="blind-figure"),
    path("blinds/<str:code>/working.pdf", working.blind_working, name="blind-working"),
    path("blinds/<str:code>/ticket.pdf", papers.ticket, name="ticket"),
    path("blinds/<str:code>/rail-label.pdf", papers.rail_label, name="rail-label"),
    path("blinds/<str:code>/pack-label.pdf", papers.pack_label, name="pack-label"),
    path("rules/", rules.rules, name="rules"),
    path("stations/", stations.stations, name="stations"),
    path("stations/<str:station>/", stations.station, name="station"),
    path("stations/<str:station>/queue/", stations.station_queue, name="station-queue"),
    path("stations/<str:station>/scan/", stations.scan, name="scan"),
    path("stations/<str:station>/<str:code>/", station_blind.station_blind, name="station-blind"),
    path("stations/<str:station>/<str:code>/record/", station_blind.station_record, name="station-record"),
]
