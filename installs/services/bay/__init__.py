"""Jobs in the bay: opening, composing their sheets, taking answers, closing, the record."""

from .answering import answer_step, current_answers
from .closing import add_addendum, close_job, record_faults
from .jobs import (
    add_person,
    add_work,
    change_job,
    clock_in,
    clock_out,
    link_fitting,
    move_job,
    open_job,
    remove_person,
    remove_work,
)
from .queue import take_arrivals
from .sheets import lines_of, next_step, refresh_sheets
from .templates import current_revision, revise_template

__all__ = [
    "add_addendum",
    "add_person",
    "add_work",
    "answer_step",
    "change_job",
    "clock_in",
    "clock_out",
    "close_job",
    "current_answers",
    "current_revision",
    "lines_of",
    "link_fitting",
    "move_job",
    "next_step",
    "open_job",
    "record_faults",
    "refresh_sheets",
    "remove_person",
    "remove_work",
    "revise_template",
    "take_arrivals",
]
