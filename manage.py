#!/usr/bin/env python
"""Run a management command of the workshop."""

import os
import sys


def run() -> None:
    if sys.argv[1:2] == ["components"]:
        # Blinds are read and answered without settings, pages or a database, which would take longer than a thousand.
        from orders.management.commands.components import Command

        Command().run_from_argv(sys.argv)
        return
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    from django.core.management import execute_from_command_line

    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    run()
