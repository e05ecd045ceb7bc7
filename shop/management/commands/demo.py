"""The invented shop, at work: loaded, its due reminders said, its mails delivered, and served."""

import os
import sys
from argparse import ArgumentParser
from datetime import time
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError

from installs.models import Reverification
from shop import clock
from shop.demo.loader import DemoReport, load_demo
from shop.management import serving, system
from shop.reminders import services as reminders

DEFAULT_PORT = 8000


class Command(BaseCommand):
    """Show the whole of it with one command; a second run changes nothing and says so."""

    help = "Load the invented shop, run what is due, deliver the mails, then serve until Ctrl-C."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the port, and whether to serve at all."""
        parser.add_argument("--port", type=int, default=DEFAULT_PORT)
        parser.add_argument("--no-serve", action="store_true", help="stop before serving")

    def handle(self, *args: str, port: int, no_serve: bool, **options: Any) -> None:
        """Do it, telling each step in a line."""
        if settings.PRODUCTION or settings.PULLPIN_MAIL != "maildir":
            raise CommandError(
                "The demo is for one machine: without PULLPIN_MODE=production, and with mails "
                "that go into a folder (PULLPIN_MAIL=maildir)."
            )
        if sentence := system.missing_for_documents():
            self.stdout.write(sentence)
        call_command("migrate", verbosity=0)
        if not no_serve:
            try:
                port = serving.pick_port(port)
            except serving.PortsTakenError as error:
                raise CommandError(str(error)) from error
        address = os.environ.get("SHOP_URL", f"http://localhost:{port}")
        settings.SHOP_URL = address  # The links in the mails lead to the port that was free.
        self.let_it_work(self.loaded())
        if no_serve:
            self.stdout.write(f"It will be at {address}: python3 manage.py demo")
            return
        self.stdout.write(f"Pullpin is at {address} until Ctrl-C.")
        self.stdout.flush()
        sys.exit(serving.serve(port, {"SHOP_URL": address}))

    def loaded(self) -> DemoReport:
        """Load the invented shop, or find it there; refuse to touch any other."""
        report = load_demo(today=clock.today())
        if not report.created and not report.users:
            raise CommandError(
                f"{settings.DATABASES['default']['NAME']} holds a shop of its own, which the demo "
                "leaves alone. Name another folder with PULLPIN_VAR."
            )
        shop = f"{report.customers} customers and {report.vehicles} vehicles"
        word = "Loaded" if report.created else "Found, from an earlier run,"
        self.stdout.write(f"{word} the invented shop {settings.SHOP_NAME}: {shop}.")
        return report

    def let_it_work(self, report: DemoReport) -> None:
        """Run one tick and one delivery, and tell what came of them."""
        # The mailbox of the demo is never asleep; a real shop's mails wait for the morning.
        settings.MAIL_HOURS_FROM = settings.MAIL_HOURS_UNTIL = time(0)
        tick = reminders.run_tick(now=clock.now(), today=clock.today())
        delivery = reminders.deliver_round(now=clock.now())
        if tick.due:
            self.stdout.write(f"Due tick: {tick}.")
        else:
            self.stdout.write("Nothing new was due.")
        self.stdout.write(f"Mails: {delivery}, into {settings.PULLPIN_MAILBOX}.")
        waiting = Reverification.objects.open().count()
        self.stdout.write(f"To be proven again: {waiting} vehicles.")
        for user in report.users:
            self.stdout.write(f"Sign in as {user.username} / {user.password} ({user.role}).")
