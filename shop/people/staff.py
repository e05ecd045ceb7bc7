"""Accounts of the people who work here."""

from collections.abc import Mapping
from typing import Any

from allauth.account.models import EmailAddress as SignInAddress
from django.core.exceptions import ValidationError
from django.db import transaction

from vehicles.records import Actor, differing, record_event

from .models import User


@transaction.atomic
def add_user(
    *, username: str, email: str, role: str, password: str | None, actor: Actor, name: str = ""
) -> User:
    """Add a staff account; without a password the person sets one by the mailed link.

    Raises ValidationError with a sentence per field.
    """
    user = User(username=username, email=email, role=role, first_name=name)
    user.set_password(password)
    user.full_clean()
    user.save(force_insert=True)
    SignInAddress.objects.create(user=user, email=email, verified=True, primary=True)
    record_event(
        actor=actor,
        verb="gave an account",
        subject=user,
        after={"username": username, "email": email, "role": role},
    )
    return user


def _keep_an_owner(user: User, changes: Mapping[str, Any]) -> None:
    """Raise ValidationError where nobody would be left who may give accounts."""
    after = (changes.get("role", user.role), changes.get("is_active", user.is_active))
    others = _owners().exclude(pk=user.pk)
    if user.is_owner and after != (User.Role.OWNER, True) and not others.exists():
        raise ValidationError({"role": "The shop needs at least one owner who can sign in."})


def _owners() -> Any:
    return User.objects.filter(role=User.Role.OWNER, is_active=True)


def _move_address(user: User, email: str) -> None:
    """Make `email` the address that the person signs in with; other addresses of theirs stay."""
    theirs = SignInAddress.objects.filter(user=user)
    if SignInAddress.objects.filter(email__iexact=email).exclude(user=user).exists():
        raise ValidationError({"email": "Somebody else signs in with this address."})
    # One that they have already, besides the primary one, takes its place instead of a double.
    theirs.filter(email__iexact=email, primary=False).delete()
    if not theirs.filter(primary=True).update(email=email, verified=True):
        SignInAddress.objects.create(user=user, email=email, verified=True, primary=True)


@transaction.atomic
def change_user(*, user: User, changes: Mapping[str, Any], actor: Actor, why: str = "") -> User:
    """Change a staff account's name, address, role or whether it may sign in.

    Somebody who may no longer sign in is out at their next click: sessions name an active user.
    """
    # Two owners who take the role from each other at the same moment: the second waits here, and
    # then sees that nobody else is left.
    list(_owners().select_for_update().order_by("pk"))
    current = User.objects.get(pk=user.pk)
    real = differing(current, changes)
    if not real:
        return current
    _keep_an_owner(current, real)
    before = {name: getattr(current, name) for name in real}
    for name, value in real.items():
        setattr(current, name, value)
    current.full_clean()
    current.save(update_fields=list(real))
    if "email" in real:
        _move_address(current, real["email"])
    record_event(
        actor=actor, verb="changed account", subject=current, before=before, after=real, why=why
    )
    return current


@transaction.atomic
def choose_units(*, user: User, units: str) -> None:
    """Keep in which units a person wants figures shown; empty is as the shop. Theirs alone."""
    User.objects.filter(pk=user.pk).update(units=User.Units(units))
