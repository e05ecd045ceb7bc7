"""Changing rules and due items, the tick that says what is due, and the look before sending."""

from .items import AHEAD_MAX, cancel_booking, mark_booked, snooze
from .nightly import run_nightly
from .optout import opt_out, opt_out_address
from .planning import refresh_all, refresh_customer, refresh_due, refresh_rule
from .rules import RULE_FIELDS, save_rule, sentence
from .sending import deliver_round, recheck
from .tick import TickReport, run_tick, what_customer_reads

__all__ = [
    "AHEAD_MAX",
    "RULE_FIELDS",
    "TickReport",
    "cancel_booking",
    "deliver_round",
    "mark_booked",
    "opt_out",
    "opt_out_address",
    "recheck",
    "refresh_all",
    "refresh_customer",
    "refresh_due",
    "refresh_rule",
    "run_nightly",
    "run_tick",
    "save_rule",
    "sentence",
    "snooze",
    "what_customer_reads",
]
