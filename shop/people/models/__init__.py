from .customer import (
    Category,
    Consent,
    ContactPerson,
    Customer,
    EmailAddress,
    Ownership,
    Phone,
)
from .user import User

__all__ = [
    "Category",
    "Consent",
    "ContactPerson",
    "Customer",
    "EmailAddress",
    "Ownership",
    "Phone",
    "User",
]
