"""Whatever is sent is checked in words, never with a breakdown."""

import os

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from proshop.files.faults import Faulty
from proshop.files.kinds import kind_of
from proshop.files.reading import read
from proshop.files.text import text_of
from proshop.models import Shop
from tests.fuzz import tried

# As in tests/fuzz, of which this is a part.
CASES = int(os.environ.get("FUZZ", "2000"))
ODD = st.sampled_from(
    [
        *("", "0", "-1", "1e5", "1e-999999999", "1e9999999999999999999", "nan", "inf", "９", "1_0"),
        *("(empty)", "'(empty)", "=1+1", "\N{RIGHT-TO-LEFT OVERRIDE}x", "x" * 200, "yes", "15"),
        *("2.5", "Maple", "solid", "2000 grit", "555 0142", "\x1f", "\u2028", "'", "ı"),
    ]
)


@pytest.mark.django_db
@pytest.mark.parametrize("slug", ["customers", "models", "shelf", "bags"])
@settings(
    suppress_health_check=[HealthCheck.function_scoped_fixture],
    max_examples=CASES * 5 // 100,
    derandomize=CASES <= 2000,
    deadline=None,
)
@given(data=st.data())
def test_any_cells_are_planned_or_refused(slug: str, data: st.DataObject, shop: Shop) -> None:
    tried.one()
    kind = kind_of(slug)
    names = [column.name for column in kind.columns]
    rows = data.draw(st.lists(st.lists(ODD, min_size=len(names), max_size=len(names)), max_size=4))
    text = "\t".join(names) + "\n" + "\n".join("\t".join(cells) for cells in rows)
    plan = kind.plan(shop, read(text, kind.columns))
    assert all(fault.words for fault in plan.faults)
    assert len(plan.fingerprint) == 64


@settings(max_examples=CASES * 5 // 100, derandomize=CASES <= 2000, deadline=None)
@given(st.binary(max_size=300))
def test_any_bytes_are_text_or_refused(content: bytes) -> None:
    tried.one()
    try:
        text = text_of(content)
    except Faulty as faulty:
        told = [fault.words for fault in faulty.faults]
    else:
        told = [fault.words for fault in read(text, kind_of("customers").columns).faults]
    assert told
