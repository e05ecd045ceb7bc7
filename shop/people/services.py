"""Changing what is known of customers; where vehicles are concerned too, call `shop.changes`."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.db.models.functions import Now
from email_validator import EmailNotValidError, validate_email

from vehicles.domain.normal import lookup_text
from vehicles.models import Vehicle
from vehicles.records import Actor, Clash, change_record, record_event

from .domain.names import name_fault
from .domain.phones import read_phone
from .models import Consent, ContactPerson, Customer, EmailAddress, Ownership, Phone


@dataclass(frozen=True)
class PersonLine:
    """A contact person as entered on the customer's form."""

    name: str
    called: str = ""
    part: str = ""
    hooks_up: bool = False


@dataclass(frozen=True)
class Reach:
    """All the ways to reach a customer, as they are to stand after the change."""

    persons: Sequence[PersonLine] = ()
    phones: Sequence[str] = ()
    emails: Sequence[str] = ()


def customer_lookup(customer: Customer) -> str:
    """Return the text that the search box looks through for this customer."""
    persons = list(customer.persons.all())
    phones = list(customer.phones.all())
    return lookup_text(
        words=(
            customer.name,
            customer.called,
            customer.address,
            *(person.name for person in persons),
            *(email.address for email in customer.emails.all()),
            *(phone.typed for phone in phones),
        ),
        codes=(),
        phones=tuple(phone.e164 for phone in phones),
    )


def refresh_lookup(customer: Customer) -> None:
    """Bring the stored search text up to date; not logged, because nobody reads it."""
    Customer.objects.filter(pk=customer.pk).update(lookup=customer_lookup(customer))


@transaction.atomic
def add_customer(*, actor: Actor, reach: Reach, why: str = "", **fields: Any) -> Customer:
    """Add a customer with persons, phones and e-mail addresses.

    Raises ValidationError with a sentence per field.
    """
    customer = Customer(**fields)
    _check_name(customer.name)
    customer.full_clean()
    customer.save(force_insert=True)
    _write_reach(customer, reach)
    refresh_lookup(customer)
    record_event(
        actor=actor,
        verb="added customer",
        subject=customer,
        after={**fields, **reach_as_told(customer)},
        why=why,
        customer_id=customer.pk,
    )
    return customer


@transaction.atomic
def change_customer(
    *,
    customer: Customer,
    changes: Mapping[str, Any],
    reach: Reach | None,
    version: int,
    actor: Actor,
    why: str = "",
) -> Customer:
    """Change a customer; `reach` None leaves persons, phones and addresses as they are.

    Raises `Clash` where the customer was changed since `version` was read.
    """
    if "name" in changes:
        _check_name(changes["name"])
    draft = Customer.objects.get(pk=customer.pk)
    for name, value in changes.items():
        setattr(draft, name, value)
    draft.full_clean()
    fresh = change_record(
        record=customer,
        changes=changes,
        version=version,
        actor=actor,
        verb="changed customer",
        why=why,
        customer_id=customer.pk,
    )
    if reach is not None:
        before = reach_as_told(fresh)
        _write_reach(fresh, reach)
        after = reach_as_told(fresh)
        if before != after:
            if not Customer.objects.filter(pk=fresh.pk, version=fresh.version).update(
                version=fresh.version + 1
            ):
                raise Clash(Customer.objects.get(pk=fresh.pk))
            record_event(
                actor=actor,
                verb="changed how to reach",
                subject=fresh,
                before=before,
                after=after,
                why=why,
                customer_id=fresh.pk,
            )
    refresh_lookup(fresh)
    return Customer.objects.get(pk=fresh.pk)


def reach_as_told(customer: Customer) -> dict[str, Any]:
    """Return persons, phones and addresses in the form that the log keeps."""
    return {
        "persons": [
            {"name": p.name, "called": p.called, "part": p.part, "hooks_up": p.hooks_up}
            for p in customer.persons.all()
        ],
        "phones": [phone.typed for phone in customer.phones.all()],
        "emails": [email.address for email in customer.emails.all()],
    }


def _check_name(name: str) -> None:
    fault = name_fault(name)
    if fault:
        raise ValidationError({"name": fault})


def check_email(address: str) -> None:
    """Raise ValidationError where `address` cannot be an e-mail address; asks no name server."""
    try:
        validate_email(address, check_deliverability=False)
    except EmailNotValidError as error:
        raise ValidationError({"emails": f"{address}: {error}"}) from error


def _write_reach(customer: Customer, reach: Reach) -> None:
    """Make persons, phones and addresses as entered, keeping the rows that stay the same.

    A row that stays keeps its marks (an address known to be broken, the person of a phone).
    """
    for person in reach.persons:
        _check_name(person.name)
    kept = {person.name: person for person in customer.persons.all()}
    wanted = {line.name: line for line in reach.persons}
    ContactPerson.objects.filter(customer=customer).exclude(name__in=wanted).delete()
    for name, line in wanted.items():
        row = kept.get(name) or ContactPerson(customer=customer, name=name)
        row.called, row.part, row.hooks_up = line.called, line.part, line.hooks_up
        row.save()

    Phone.objects.filter(customer=customer).exclude(typed__in=reach.phones).delete()
    known = set(customer.phones.values_list("typed", flat=True))
    for typed in dict.fromkeys(reach.phones):
        if typed not in known:
            phone = read_phone(typed, country=customer.country)
            if phone.fault:
                raise ValidationError({"phones": f"{typed}: {phone.fault}"})
            Phone.objects.create(
                customer=customer, typed=typed, e164=phone.e164, extension=phone.extension
            )

    EmailAddress.objects.filter(customer=customer).exclude(address__in=reach.emails).delete()
    addresses = set(customer.emails.values_list("address", flat=True))
    for address in dict.fromkeys(reach.emails):
        if address not in addresses:
            check_email(address)
            EmailAddress.objects.create(customer=customer, address=address)


@transaction.atomic
def set_consent(
    *, customer: Customer, category: str, allowed: bool, how: str, actor: Actor
) -> Consent:
    """Record what the customer said about a category of messages."""
    consent, _ = Consent.objects.update_or_create(
        customer=customer,
        category=category,
        defaults={"allowed": allowed, "how": how, "said_at": Now()},
    )
    record_event(
        actor=actor,
        verb="agreed to" if allowed else "declined",
        subject=customer,
        after={"category": category, "allowed": allowed},
        why=how,
        customer_id=customer.pk,
    )
    return consent


@transaction.atomic
def start_ownership(
    *, customer: Customer, vehicle: Vehicle, since: date, actor: Actor, why: str = ""
) -> Ownership:
    """Record that the vehicle is the customer's from `since` on.

    Raises ValidationError where somebody else still owns it: end that first.
    """
    try:
        with transaction.atomic():
            ownership = Ownership.objects.create(customer=customer, vehicle=vehicle, since=since)
    except IntegrityError as error:
        owner = Ownership.objects.current().get(vehicle=vehicle).customer
        raise ValidationError(
            {"vehicle": f"{vehicle} still belongs to {owner}. End that ownership first."}
        ) from error
    record_event(
        actor=actor,
        verb="took over",
        subject=ownership,
        after={"since": since},
        why=why,
        vehicle_id=vehicle.pk,
        customer_id=customer.pk,
    )
    return ownership


@transaction.atomic
def end_ownership(*, ownership: Ownership, until: date, why: str, actor: Actor) -> Ownership:
    """Record that the vehicle is no longer the customer's after `until`."""
    if until < ownership.since:
        raise ValidationError(
            {"until": f"It began on {ownership.since}: it cannot end before that day."}
        )
    if Ownership.objects.filter(pk=ownership.pk, until=None).update(until=until, why_ended=why):
        record_event(
            actor=actor,
            verb="gave up",
            subject=ownership,
            after={"until": until},
            why=why,
            vehicle_id=ownership.vehicle_id,
            customer_id=ownership.customer_id,
        )
    return Ownership.objects.get(pk=ownership.pk)
