"""Turning what the engine refuses into an error beside the field that caused it."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

from django.forms import BaseForm

from physics.errors import InputError

HOLE = re.compile(r"holes\[(\d+)\](?:\.(\w+))?$")


def refusal_words(error: InputError) -> str:
    """What is wrong with a stored record, in a sentence."""
    what = error.field.rsplit(".", 1)[-1].replace("_", " ")
    return f"{what[:1].upper()}{what[1:]} must be {error.allowed}."


def refuse(form: BaseForm, error: InputError, names: Mapping[str, str] | None = None) -> None:
    """Put the refusal beside the field it names, or on top when the form has no such field.

    ``names`` gives the form's name of a field where it differs from the engine's.
    """
    leaf = error.field.rsplit(".", 1)[-1]
    name = (names or {}).get(leaf, leaf)
    if name in form.fields:
        label = getattr(form.fields[name], "name", None) or form.fields[name].label or name
        form.add_error(name, f"{label} must be {error.allowed}.")
    else:
        form.add_error(None, refusal_words(error))


def refuse_hole(forms: Sequence[Any], error: InputError) -> bool:
    """Put a refusal of ``holes[n]`` on the n-th hole kept; False when it isn't about a hole."""
    found = HOLE.search(error.field)
    if found is None or int(found[1]) >= len(forms):
        return False
    refuse(forms[int(found[1])], InputError(found[2] or "", error.value, error.allowed))
    return True
