"""Web server and worker of one machine, on the shop's own data."""

import sys
from argparse import ArgumentParser
from typing import Any

from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError

from shop.management import serving

DEFAULT_PORT = 8000


class Command(BaseCommand):
    help = "Bring the database up to date, then run web server and worker until Ctrl-C."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--port", type=int, default=DEFAULT_PORT)

    def handle(self, *args: Any, port: int, **options: Any) -> None:
        call_command("migrate", verbosity=0)
        try:
            port = serving.pick_port(port)
        except serving.PortsTakenError as error:
            raise CommandError(str(error)) from error
        self.stdout.write(f"Pullpin is at http://localhost:{port} until Ctrl-C.")
        sys.exit(serving.serve(port, {"SHOP_URL": f"http://localhost:{port}"}))
