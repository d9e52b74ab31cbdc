"""Stations and states as the pages name them."""

from django.utils.translation import gettext_lazy

from .. import route

STATION_CHOICES = [(station.key, gettext_lazy(station.english)) for station in route.STATIONS]
STATE_CHOICES = [(state, gettext_lazy(words)) for state, words in route.STATE_WORDS.items()]
