"""The people who work here and sign in."""

from django.contrib.auth.models import AbstractUser
from django.db import models


class User(AbstractUser):
    """Staff. Customers have no account."""

    class Role(models.TextChoices):
        DESK = "desk", "service desk"
        TECHNICIAN = "technician", "technician"
        OWNER = "owner", "owner"

    class Units(models.TextChoices):
        SHOP = "", "as the shop"
        US = "us", "US customary"
        METRIC = "metric", "metric"

    role = models.CharField(max_length=12, choices=Role, blank=True)
    units = models.CharField(
        "units shown", max_length=10, choices=Units, blank=True, default=Units.SHOP
    )

    @property
    def is_shop_staff(self) -> bool:
        return self.is_active and self.role in self.Role.values

    @property
    def may_keep_records(self) -> bool:
        """Desk and owner enter and change customers, vehicles, rules' outcomes and mails."""
        return self.is_active and self.role in {self.Role.DESK, self.Role.OWNER}

    @property
    def is_owner(self) -> bool:
        return self.is_active and self.role == self.Role.OWNER

    def __str__(self) -> str:
        return self.get_full_name() or self.username
