"""How staff sign in: what the sign-in library may and may not do here."""

from allauth.account.adapter import DefaultAccountAdapter
from django.http import HttpRequest


class StaffAdapter(DefaultAccountAdapter):
    """Close the public sign-up: the owner makes each account."""

    def is_open_for_signup(self, request: HttpRequest) -> bool:
        """Answer no, whoever asks."""
        return False
