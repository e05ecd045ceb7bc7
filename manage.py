#!/usr/bin/env python3
"""Pullpin's commands: `demo`, `test`, `gates`, `bench`, `worker`, `judge` and all of Django's.

Needs nothing but Python 3.11 and the lock files beside it: the first call makes ./.venv.
"""

import os
import sys

DEVELOPING = {"test", "gates", "bench"}


def main() -> None:
    """Set up the environment if need be, then run the command."""
    if sys.version_info < (3, 11):  # noqa: UP036 -- this file must say so in any Python 3
        sys.exit(
            f"Pullpin needs Python 3.11 or newer, and this is {sys.version.split()[0]}: install a "
            "newer one and start this command with it, for example `python3.12 manage.py demo`."
        )
    from shop.management import environment

    command = sys.argv[1] if len(sys.argv) > 1 else "help"
    environment.enter(developing=command in DEVELOPING)

    if command in {"test", "gates"}:  # These start Django in processes of their own.
        from shop.management import gates, suite

        sys.exit({"test": suite.main, "gates": gates.main}[command](sys.argv[2:]))

    from django.conf import settings
    from django.core.exceptions import ImproperlyConfigured
    from django.core.management import execute_from_command_line

    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")
    try:
        bool(settings.DEBUG)  # Read them now: Django would wrap the sentence.
    except ImproperlyConfigured as error:
        sys.exit(str(error))
    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
