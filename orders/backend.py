"""How Django finds out who is signed in (settings.AUTHENTICATION_BACKENDS)."""

from django.contrib.auth.backends import ModelBackend

from .asking import person_read_with_the_session


class PersonOfTheSession(ModelBackend):
    """Django's own, which asks no second time for whoever was read with the session."""

    def get_user(self, user_id):
        person = person_read_with_the_session()
        if person is None or person.pk != user_id:
            return super().get_user(user_id)
        return person if self.user_can_authenticate(person) else None
