"""Every address of the site, sent nonsense: no breakdown, nothing half saved, the field named.

``python -m tests.fuzz 100000`` is the long run, which draws other cases each time; the suite
draws the same ones always.
"""

from __future__ import annotations

import os
import traceback
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.db import transaction
from django.test import Client
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from arsenal.models import DrillPlan
from bowlers.models import Fitting
from proshop.models import Shop
from tests.furnished import Furnished, furnish
from tests.fuzz import odd
from tests.fuzz import tried as count
from tests.fuzz.judged import errors_told, faults, forms_of, stored, writes
from tests.fuzz.targets import Search, Target
from tests.fuzz.wire import FORM, Fields, File, encoded, in_parts

CASES = int(os.environ.get("FUZZ", "2000"))
IS_LONG = CASES > 2000
# So many of a hundred; the rest goes to files, JSON and command lines.
SHARE = 34
# Names that any form carries.
OF_EVERY_FORM = {"csrfmiddlewaretoken"}
# What is worked out while somebody types: the box itself says what is wrong, once it is left.
WHILE_TYPING = {"delivery-derived"}
BACKEND = "django.contrib.auth.backends.ModelBackend"
RULES = settings(
    derandomize=not IS_LONG,
    database=None,
    deadline=None,
    phases=(Phase.generate, Phase.shrink) if IS_LONG else (Phase.generate,),
    suppress_health_check=list(HealthCheck),
    print_blob=IS_LONG,
)


@dataclass
class Case:
    """One request; ``path`` and ``body`` are sent as they are."""

    path: str
    fields: Fields
    files: list[File]
    htmx: bool = False
    body: bytes | None = None
    content_type: str = FORM
    usual: Fields = field(default_factory=list)

    def __repr__(self) -> str:
        """What differs from what is sent in earnest."""
        odd_ones = [pair for pair in self.fields if pair not in self.usual]
        gone = {name for name, _ in self.usual} - {name for name, _ in self.fields}
        said = [self.path, *(f"{name}={value!r}"[:80] for name, value in odd_ones)]
        said += [f"without {name}" for name in sorted(gone)]
        said += [f"{name}: {called!r} {content!r}"[:150] for name, called, content in self.files]
        if self.body is not None:
            said.append(f"{self.body!r}"[:60] + f" as {self.content_type}")
        return ", ".join([*said, *(["by htmx"] if self.htmx else [])])


BODIES = st.sampled_from(
    [
        *((b"a=" + b"x" * 10_000_000, FORM), in_parts([("a", "x" * 10_000_000)], [])),
        *((b"{}", "application/json"), (b"[" * 100_000, "application/json")),
        *((b"\xff\xfe\x00", FORM), (b"&&&=&=", FORM), (b"a=1;b=2", FORM), (b"%", FORM)),
        *((b"a=1&" * 1500, FORM), (b"--x\r\n\r\n", "multipart/form-data; boundary=x")),
        *((b"", "multipart/form-data"), (b"x", "multipart/form-data; boundary=" + "x" * 300)),
        *((b"x", "multipart/form-data; boundary=\xe9"), (b"x", "text/plain; charset=utf-7")),
        *((b"a=%FF", FORM + "; charset=nonsense"), (b"a=1", "nonsense"), (b"a=1", "")),
    ]
)


def cases(target: Target) -> st.SearchStrategy[Case]:
    """Requests of a target that differ from what it is sent in earnest."""
    names = sorted(set(target.fields) - OF_EVERY_FORM)
    kinds = ["address"] if target.parts else []
    kinds += ["extra"] if not names else ["one"] * 6 + ["several", "all", "dropped", "repeated"] * 2
    kinds += ["body"] if target.method == "POST" else []
    kinds += ["file"] * 6 if target.files else []

    @st.composite
    def drawn(draw: st.DrawFn) -> Case:
        kind = draw(st.sampled_from(kinds))
        case = Case(
            target.path, list(target.usual), [], htmx=draw(st.booleans()), usual=target.usual
        )
        for name in sorted(target.offered):
            if draw(st.integers(0, 3)) == 0:
                choice = draw(st.sampled_from(sorted(target.offered[name])))
                case.fields = [pair for pair in case.fields if pair[0] != name] + [(name, choice)]
        if kind == "address":
            case.path = draw(addresses(target))
        elif kind == "body":
            case.body, case.content_type = draw(BODIES)
        elif kind == "file":
            name = draw(st.sampled_from(sorted(target.files)))
            case.files = [(name, draw(odd.FILE_NAMES), draw(odd.FILES))]
        elif kind == "dropped":
            gone = draw(st.sets(st.sampled_from(names), min_size=1))
            case.fields = [pair for pair in case.fields if pair[0] not in gone]
        else:
            upmost = {"one": 1, "repeated": 2, "several": 5, "all": len(names)}.get(kind, 1)
            pool = names or ["page", "q", "next", "pk"]
            which = draw(st.permutations(pool))[:upmost]
            if kind != "repeated":
                case.fields = [pair for pair in case.fields if pair[0] not in which]
            case.fields += [(name, draw(odd.VALUES)) for name in which]
        return case

    return drawn()


def addresses(target: Target) -> st.SearchStrategy[str]:
    """The address with a record that isn't there, or a text that is none."""
    pieces = target.path.split("/")
    places = [at for at, piece in enumerate(target.route.split("/")) if piece.startswith("<")]

    @st.composite
    def drawn(draw: st.DrawFn) -> str:
        for at in places:
            # The path has a slash before the route begins.
            number = pieces[at + 1].isdigit()
            pieces[at + 1] = draw(odd.IDENTITIES if number else odd.TEXTS_IN_ADDRESSES)
        return "/".join(pieces)

    return drawn()


class Sender:
    """Sends cases as the owner of the shop; nothing stays of them."""

    def __init__(self, owner: User) -> None:
        self.owner, self.client = owner, Client()
        self.sign_in()

    def sign_in(self) -> None:
        self.client.force_login(self.owner, backend=BACKEND)
        self.cookies = dict(self.client.cookies)

    def usual(self, target: Target, fields: Fields) -> Any:
        with transaction.atomic():
            answer = self._send(target, Case(target.path, fields, []))
            transaction.set_rollback(True)
        return answer

    def judge(self, target: Target, case: Case, before: str) -> None:
        with transaction.atomic(), writes() as written:
            answer = self._send(target, case)
            wrong = [] if target.name in WHILE_TYPING else faults(answer)
            if answer.status_code >= 500:
                wrong = [f"status {answer.status_code}"]
            is_refused = answer.status_code >= 400 or bool(
                target.method == "POST" and (forms_of(answer) or errors_told(answer))
            )
            if is_refused and written and stored() != before:
                wrong.append("refused, and something was stored")
            if answer.status_code == 302 and not answer["Location"].startswith("/sign-in/"):
                # What was taken can be looked at.
                where = answer["Location"].split("#")[0] or target.path
                if where.startswith("/") and ".pdf" not in where:
                    wrong += faults(self.client.get(where))
            transaction.set_rollback(True)
        self.client.cookies.clear()
        for name, morsel in self.cookies.items():
            self.client.cookies[name] = morsel.value
        assert not wrong, f"{answer.status_code}: {'; '.join(wrong)}"

    def _send(self, target: Target, case: Case) -> Any:
        headers = {"HX-Request": "true"} if case.htmx else {}
        query = target.query.encode().decode("latin-1")
        if target.method == "GET":
            more = encoded(case.fields)
            both = "&".join(part for part in (query, more) if part)
            return self.client.get(case.path, QUERY_STRING=both, headers=headers)
        body, kind = encoded(case.fields).encode(), case.content_type
        if case.body is not None:
            body = case.body
        elif target.files:
            body, kind = in_parts(case.fields, case.files)
        return self.client.generic(
            "POST", case.path, body, content_type=kind, QUERY_STRING=query, headers=headers
        )


def open_fitting(furnished: Furnished) -> None:
    Fitting.objects.update(status=Fitting.Status.DRAFT)


def without_throw(furnished: Furnished) -> None:
    Fitting.objects.update(status=Fitting.Status.DRAFT, method=Fitting.Method.NO_THROW)


def signed_plan(furnished: Furnished) -> None:
    DrillPlan.objects.update(state=DrillPlan.State.SIGNED)


# Records in other states open other forms: what leads to a state, and the addresses it is about.
STATES: dict[str, tuple[Callable[[Furnished], None], tuple[str, ...]]] = {
    "": (lambda furnished: None, ("",)),
    "fitting open": (open_fitting, ("fittings/", "deliveries/")),
    "fitting without a throw": (without_throw, ("fittings/",)),
    "plan signed": (signed_plan, ("plans/",)),
}


def weight(target: Target) -> int:
    """How many cases a target is worth beside others: as many as it has names, within reason."""
    named = len(set(target.fields) - OF_EVERY_FORM)
    drawn_on_paper = target.route.endswith(".pdf")
    return 1 if drawn_on_paper else 2 + min(named, 20)


def shared_out(targets: list[Target], cases_in_all: int) -> Iterator[tuple[Target, int]]:
    total = sum(map(weight, targets))
    for target in targets:
        yield target, max(1, round(cases_in_all * weight(target) / total))


@pytest.mark.django_db
def test_no_address_breaks_on_nonsense(shop: Shop, owner: User) -> None:
    furnished = furnish(shop, owner)
    sender = Sender(owner)
    wrong: list[str] = []
    tried = 0
    found: list[tuple[Target, Callable[[Furnished], None]]] = []
    for state, (lead, routes) in STATES.items():
        with transaction.atomic():
            lead(furnished)
            found += [(t, lead) for t in Search(sender.usual, state).run(furnished, routes)]
            transaction.set_rollback(True)
    leads = {str(target): lead for target, lead in found}
    for target, number in shared_out([target for target, _ in found], CASES * SHARE // 100):
        with transaction.atomic():
            leads[str(target)](furnished)
            before = stored()

            @settings(RULES, max_examples=number)
            @given(cases(target))
            def holds(case: Case) -> None:
                nonlocal tried
                tried += 1
                count.one()
                sender.judge(target, case, before)  # noqa: B023 - called before the next round

            try:
                holds()
            except Exception as trouble:
                wrong.append(_told(target, trouble))
            transaction.set_rollback(True)
    assert not wrong, "\n".join([f"{len(wrong)} addresses", *wrong])
    assert tried >= CASES * SHARE // 100 * 0.9


def _told(target: Target, trouble: BaseException) -> str:
    """What went wrong, where in our code, and what was sent; all of it where several things did."""
    if isinstance(trouble, BaseExceptionGroup):
        return "\n".join(_told(target, one) for one in trouble.exceptions)
    where = [
        f"{frame.filename}:{frame.lineno}"
        for frame in traceback.extract_tb(trouble.__traceback__)
        if "/tests/" not in frame.filename and "site-packages" not in frame.filename
    ]
    said = f"{target}: {type(trouble).__name__}: {trouble}"[:500]
    notes = [note.replace("\n", " ")[:500] for note in getattr(trouble, "__notes__", [])]
    return "\n    ".join([said, *where[-2:], *notes])
