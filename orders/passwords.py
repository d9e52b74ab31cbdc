"""Words that a password may not be made of, beside those that are common everywhere."""

import re

from django.conf import settings
from django.core.exceptions import ValidationError

from .roles import ROLE_NAMES

HOUSE_WORDS = ("railwright", "vertical", "blinds", "blind", "workshop", "password", *ROLE_NAMES)
"""With the workshop's own name and what somebody signs in as: what whoever guesses tries first."""
LEAST_LEFT = 8


class NoWordsOfTheHouse:
    """Refuses a password of which too little is left without the words of the house."""

    def validate(self, password, user=None):
        left = password.casefold()
        own = re.findall(r"\w{4,}", f"{settings.WORKSHOP_NAME} {getattr(user, 'username', '')}".casefold())
        for word in sorted({*HOUSE_WORDS, *own}, key=len, reverse=True):
            left = left.replace(word, "")
        if len(left) < LEAST_LEFT:
            raise ValidationError(
                "That password is made of the workshop's own words. Choose a few words that have nothing to do with it."
            )

    def get_help_text(self):
        return "Not made of the workshop's own words, such as its name."
