"""Taking back what was counted as said and never reached anybody.

A turn is counted when its message is written, so that no second one is written beside it. Where
that message never goes out, or goes without the item, the count would be a lie: the item would
keep quiet until the next turn, or for good after the last one.
"""

from collections import defaultdict
from collections.abc import Collection
from datetime import date, datetime
from typing import Any

from django.db import transaction

from shop.clock import shop_date
from shop.reminders.models import DueItem, Reminder

from .planning import contact_of, terms_of
from .reach import reach_of

_CHANGED = ("mails_sent", "mails_before", "contact_on", "silence")


def take_back_mail(mail: Any, now: datetime) -> None:
    """Take back all that a message was to say, because it is certain that it never goes out.

    `mail` is a row of the outbox. The items come up again on the day that follows from what was
    really said of them.
    """
    entries = Reminder.objects.counted().filter(mail=mail.pk).values_list("pk", flat=True)
    take_back(entries=list(entries), today=shop_date(now))


@transaction.atomic
def take_back(*, entries: Collection[int], today: date, left_out: bool = False) -> None:
    """Count these entries of the ledger (by number) as never said; the second time changes nothing.

    Items that still stand get their day of contact worked out anew; those that are booked or
    closed say nothing meanwhile, and come up again should that be undone. `left_out` means
    that the message goes without them.
    """
    concerned = Reminder.objects.filter(pk__in=entries).values("item")
    # Locked before the ledger is read, so that no tick counts another turn in between.
    locked = DueItem.objects.select_for_update(of=("self",)).filter(pk__in=concerned)
    items = list(locked.select_related("rule").order_by("pk"))
    reach = reach_of({item.customer_id for item in items if item.customer_id})
    ledger: dict[int, list[Reminder]] = defaultdict(list)
    for entry in Reminder.objects.counted().filter(item__in=items).order_by("nth"):
        ledger[entry.item_id].append(entry)
    for item in items:
        _strike(item, ledger[item.pk], set(entries), left_out=left_out)
        if item.closed_on is None:
            contact = contact_of(
                item,
                terms=terms_of(item.rule),
                reach=reach.get(item.customer_id or 0),
                last_mail_on=max((row.on for row in ledger[item.pk]), default=None),
                today=today,
            )
            item.contact_on, item.silence = contact.on, contact.silence[:200]
    DueItem.objects.bulk_update(items, _CHANGED, batch_size=100)


def _strike(item: DueItem, ledger: list[Reminder], gone: set[int], *, left_out: bool) -> None:
    """Strike what is `gone` from an item's ledger and count; later turns move up by one each."""
    for entry in [row for row in ledger if row.pk in gone]:
        ledger.remove(entry)
        entry.taken_back = True
        entry.mail = None if left_out else entry.mail
        entry.save(update_fields=["taken_back", "mail"])
        item.mails_sent -= 1
        # What an earlier owner was told takes its own numbers, up to `mails_before`.
        item.mails_before -= entry.nth <= item.mails_before
        # One by one and in order, because two turns never bear the same number.
        for later in ledger:
            if later.nth > entry.nth:
                later.nth -= 1
                later.save(update_fields=["nth"])
