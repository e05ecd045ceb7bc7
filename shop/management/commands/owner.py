"""Make an account for an owner: the way into a new shop."""

from argparse import ArgumentParser
from getpass import getpass
from typing import Any

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError

from shop.people import staff
from shop.people.models import User
from vehicles.records import PULLPIN


class Command(BaseCommand):
    help = "Make an account for an owner; asks for the password."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("username")
        parser.add_argument("email")
        parser.add_argument("--name", default="", help="the name that the log shows")

    def handle(self, *args: Any, username: str, email: str, name: str, **options: Any) -> None:
        password = getpass("Password (12 characters or more): ")
        if getpass("The same once more: ") != password:
            raise CommandError("The two passwords differ; nothing was made.")
        try:
            validate_password(password, User(username=username, email=email))
            user = staff.add_user(
                username=username,
                email=email,
                name=name,
                role=User.Role.OWNER,
                password=password,
                actor=PULLPIN,
            )
        except ValidationError as error:
            raise CommandError(" ".join(error.messages)) from error
        self.stdout.write(f"{user} may sign in as {user.username}.")
