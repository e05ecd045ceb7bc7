"""A new revision of a document that vehicles go by: looked at first, then written."""

import hashlib
import json
from typing import Any

from django import forms

from .base import RecordForm


class RevisionForm(RecordForm):
    """A document's next revision.

    `based_on` is the id of the revision that the page started from (numbers alone would not tell a
    vehicle's first from its range's first), `looked` the mark of the content whose consequences
    were shown. A revision is written only where both are as they
    should be, so nobody writes one without having seen whom it concerns.
    """

    based_on = forms.IntegerField(required=False, widget=forms.HiddenInput)
    looked = forms.CharField(required=False, max_length=64, widget=forms.HiddenInput)
    why = forms.CharField(
        label="Why this revision",
        max_length=300,
        help_text="New edition, corrected after measuring, first entry. For the log.",
    )

    def __init__(self, *args: Any, current: Any, **kwargs: Any) -> None:
        self.current = current
        first = {"based_on": getattr(current, "pk", 0), **(kwargs.pop("initial", None) or {})}
        super().__init__(*args, initial=first, **kwargs)

    @property
    def content(self) -> dict[str, Any]:
        """The document as it is to be stored; the form must be valid."""
        made: dict[str, Any] = self.cleaned_data["content"]
        return made

    @property
    def mark(self) -> str:
        """A mark of the content that was looked at."""
        text = json.dumps(self.content, sort_keys=True)
        return hashlib.sha256(text.encode()).hexdigest()

    @property
    def was_looked_at(self) -> bool:
        """Were the consequences of just this content shown?"""
        return bool(self.cleaned_data["looked"] == self.mark)

    def note_look(self) -> None:
        """Remember that this content's consequences are being shown."""
        self.data = self.data.copy()
        self.data["looked"] = self.mark

    def overtaken(self) -> bool:
        """Tell whether somebody wrote a revision since the page was opened; say so once.

        `based_on` is brought up to date, so that sending the form again is the choice to put
        one's own in place of the other one.
        """
        stands = getattr(self.current, "pk", 0)
        if (self.cleaned_data["based_on"] or 0) == stands:
            return False
        self.data = self.data.copy()
        self.data["based_on"], self.data["looked"] = str(stands), ""
        self.add_error(
            None,
            f"{self.current.written_by} wrote revision {self.current.number} while you had this "
            "page open. It is shown above yours: save yours as the next one, or start over "
            "from theirs.",
        )
        return True
