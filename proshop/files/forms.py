"""The form that takes a file."""

from __future__ import annotations

from pathlib import PurePath
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from proshop.files.faults import Faulty
from proshop.files.reading import LIMITS, MOST_BYTES
from proshop.files.text import text_of
from proshop.forms import TokenForm

LONGEST_NAME = 80


class SendForm(TokenForm):
    """A CSV file. ``text`` and ``name`` are what was sent, once the form is valid."""

    file = forms.FileField(
        label="CSV file",
        help_text=f"Up to {LIMITS}. Nothing is stored before you have seen what it would do.",
        widget=forms.FileInput({"accept": ".csv,.txt,text/csv,text/plain"}),
        error_messages={
            "required": "No file was chosen: choose the CSV file to check.",
            "empty": "The file is empty: send one with headings and a row for each record.",
        },
    )
    text = ""
    name = ""

    def clean_file(self) -> Any:
        sent = self.cleaned_data["file"]
        if sent.size > MOST_BYTES:
            most = f"{MOST_BYTES // 1_000_000} MB"
            raise ValidationError(f"The file is larger than {most}: split it and send the parts.")
        try:
            self.text = text_of(sent.read())
        except Faulty as faulty:
            raise ValidationError([fault.words for fault in faulty.faults]) from faulty
        self.name = PurePath(sent.name).name[-LONGEST_NAME:]
        return sent
