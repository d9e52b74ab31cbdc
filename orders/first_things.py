"""What somebody who has signed in must do before any other page opens to them."""

from . import roles, second_step, sessions


def due(request):
    """The name of the page that whoever asks is kept on until it is done; nothing where nothing is due."""
    user = request.user
    if not user.is_authenticated or not user.roles or roles.at_the_bench(request):
        return ""
    if user.first_password_until:
        return "own-first-password"
    if second_step.is_wanted(user) and sessions.SECOND not in request.session:
        return "own-second-step"
    return ""
