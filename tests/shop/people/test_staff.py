"""Accounts: addresses to sign in with, and an owner who stays."""

from threading import Barrier, Thread

import pytest
from allauth.account.models import EmailAddress as SignInAddress
from django.core.exceptions import ValidationError
from django.db import connection, connections, transaction

from shop.people.models import User
from shop.people.staff import add_user, change_user
from tests.factories.people import UserFactory
from vehicles.records import Actor

pytestmark = pytest.mark.django_db
OWNER = Actor("Mara Voss", 1)


def robin(email: str = "robin@shop.example") -> User:
    return add_user(username=email, email=email, role="desk", password=None, actor=OWNER)


def addresses(user: User) -> set[tuple[str, bool]]:
    return set(SignInAddress.objects.filter(user=user).values_list("email", "primary"))


def change(user: User, email: str) -> User:
    return change_user(user=user, changes={"email": email}, actor=OWNER)


def test_another_address_leaves_the_second_one_alone() -> None:
    user = robin()
    SignInAddress.objects.create(user=user, email="r@home.example", verified=True)
    assert change(user, "robin.w@shop.example").email == "robin.w@shop.example"
    assert addresses(user) == {("robin.w@shop.example", True), ("r@home.example", False)}


def test_the_second_address_can_become_the_first() -> None:
    user = robin()
    SignInAddress.objects.create(user=user, email="r@home.example", verified=False)
    change(user, "r@home.example")
    assert addresses(user) == {("r@home.example", True)}
    assert SignInAddress.objects.get(user=user).verified


def test_somebody_without_an_address_gets_one() -> None:
    user = UserFactory(password="!")
    change(user, "new@shop.example")
    assert addresses(user) == {("new@shop.example", True)}


def test_an_address_that_somebody_else_signs_in_with_is_refused() -> None:
    user, other = robin(), robin("other@shop.example")
    SignInAddress.objects.create(user=other, email="o@home.example", verified=True)
    with pytest.raises(ValidationError) as refused, transaction.atomic():
        change(user, "O@home.example")
    assert "Somebody else signs in with this address." in refused.value.message_dict["email"]
    assert User.objects.get(pk=user.pk).email == "robin@shop.example"


def test_the_last_owner_stays() -> None:
    first, second = (UserFactory(role="owner", password="!") for _ in range(2))
    UserFactory(role="owner", is_active=False)
    change_user(user=first, changes={"role": "desk"}, actor=OWNER)
    for changes in ({"role": "desk"}, {"is_active": False}):
        with pytest.raises(ValidationError):
            change_user(user=second, changes=changes, actor=OWNER)


@pytest.mark.django_db(transaction=True)
@pytest.mark.skipif(
    connection.vendor != "postgresql", reason="SQLite lets one writer in at a time anyway"
)
def test_two_owners_demoted_at_the_same_moment_leave_one() -> None:
    owners = [UserFactory(role="owner", password="!") for _ in range(2)]
    start, refused = Barrier(2), []

    def demote(user: User) -> None:
        start.wait()
        try:
            change_user(user=user, changes={"role": "desk"}, actor=OWNER)
        except ValidationError as error:
            refused.append(error)
        finally:
            connections.close_all()

    threads = [Thread(target=demote, args=[user]) for user in owners]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert User.objects.filter(role="owner").count() == 1
    assert len(refused) == 1
