from django.apps import AppConfig
from django.conf import settings
from django.utils.translation import gettext, ngettext, override

from . import words


class ProductionConfig(AppConfig):
    name = "production"

    def ready(self):
        words.speak(words=gettext, count=ngettext, mark=_in_the_workshops_language)


def _in_the_workshops_language(english):
    with override(settings.LANGUAGE_CODE):
        return gettext(english)
