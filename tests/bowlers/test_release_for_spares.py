"""A second release, measured for spares: kept apart from the usual one."""

import datetime
import uuid

import pytest
from django.contrib.auth.models import User
from django.test import Client

from bowlers import services
from bowlers.engine import fitting_in_use, newest_fittings
from bowlers.models import Bowler, Fitting
from bowlers.summary import earlier
from tests.bowlers.conftest import Log


def fit(bowler: Bowler, staff: User, log: Log, month: int, purpose: str) -> Fitting:
    fitting = services.start_fitting(
        bowler=bowler,
        fitted_on=datetime.date(2026, month, 1),
        notes="",
        logged_by=staff,
        purpose=purpose,
    )
    log(fitting, rotation_deg=45 if purpose == "usual" else 8)
    return services.finish_fitting(fitting=fitting)


def test_the_newest_of_each_release_is_in_use_for_itself_alone(
    bowler: Bowler, staff: User, log: Log
) -> None:
    fit(bowler, staff, log, 1, "usual")
    usual = fit(bowler, staff, log, 2, "usual")
    assert "spares" not in newest_fittings(bowler)
    fit(bowler, staff, log, 3, "spares")
    for_spares = fit(bowler, staff, log, 4, "spares")
    assert fitting_in_use(bowler) == usual
    assert newest_fittings(bowler)["spares"] == for_spares


def test_a_release_for_spares_alone_is_no_usual_release(
    bowler: Bowler, staff: User, log: Log, staff_client: Client
) -> None:
    fit(bowler, staff, log, 3, "spares")
    assert fitting_in_use(bowler) is None
    assert Bowler.objects.with_last_fitting().get(pk=bowler.pk).last_fitted_on is None
    page = staff_client.get(f"/customers/{bowler.pk}/").content.decode()
    assert "Nothing is measured yet" in page
    assert "Not measured yet: log a few deliveries" in page


def test_a_draft_for_spares_is_not_in_use(bowler: Bowler, staff: User, log: Log) -> None:
    services.reopen_fitting(fitting=fit(bowler, staff, log, 3, "spares"))
    assert "spares" not in newest_fittings(bowler)


def test_fittings_are_compared_with_those_of_the_same_release(
    bowler: Bowler, staff: User, log: Log
) -> None:
    first = fit(bowler, staff, log, 1, "usual")
    for_spares = fit(bowler, staff, log, 2, "spares")
    last = fit(bowler, staff, log, 3, "usual")
    assert [entry.fitting for entry in earlier(last)] == [first]
    assert earlier(for_spares) == []


@pytest.mark.parametrize(("sent", "stored"), [({}, "usual"), ({"purpose": "spares"}, "spares")])
def test_a_fitting_says_which_release_it_measures_and_is_usual_unless_said(
    staff_client: Client, bowler: Bowler, sent: dict[str, str], stored: str
) -> None:
    form = {"form_token": str(uuid.uuid4()), "fitted_on": "2026-05-03", "notes": "", **sent}
    staff_client.post(f"/customers/{bowler.pk}/fittings/new/", form)
    fitting = bowler.fittings.get()
    assert fitting.purpose == stored
    page = staff_client.get(f"/fittings/{fitting.pk}/").content.decode()
    assert ("release for spares" in page) == (stored == "spares")


def test_the_form_refuses_a_release_nobody_knows_and_keeps_what_was_typed(
    staff_client: Client, bowler: Bowler
) -> None:
    form = {
        "form_token": str(uuid.uuid4()),
        "fitted_on": "2026-05-03",
        "notes": "Typed with care",
        "purpose": "sideways",
    }
    page = staff_client.post(f"/customers/{bowler.pk}/fittings/new/", form).content.decode()
    assert "Select a valid choice" in page
    assert "Typed with care" in page
    assert not bowler.fittings.exists()


def test_a_purpose_set_wrong_is_put_right_and_its_history_kept(
    staff_client: Client, bowler: Bowler, staff: User, log: Log
) -> None:
    fitting = fit(bowler, staff, log, 3, "usual")
    address = f"/fittings/{fitting.pk}/edit/"
    page = staff_client.get(address).content.decode()
    assert 'value="usual"' in page
    staff_client.post(
        address,
        {
            "form_token": str(uuid.uuid4()),
            "record_version": fitting.version,
            "fitted_on": "2026-03-01",
            "notes": "",
            "purpose": "spares",
        },
    )
    assert newest_fittings(bowler)["spares"] == fitting
    assert "Release measured: usual to spares" in staff_client.get(address).content.decode()


def test_the_link_for_spares_starts_with_that_release(staff_client: Client, bowler: Bowler) -> None:
    page = staff_client.get(f"/customers/{bowler.pk}/fittings/new/?purpose=spares")
    assert page.context["form"]["purpose"].value() == "spares"
    other = staff_client.get(f"/customers/{bowler.pk}/fittings/new/?purpose=nonsense")
    assert other.context["form"]["purpose"].value() == "usual"


def test_the_customers_page_says_how_spares_are_thrown(
    staff_client: Client, bowler: Bowler, staff: User, log: Log
) -> None:
    def page() -> str:
        return str(staff_client.get(f"/customers/{bowler.pk}/").content.decode())

    assert "a flatter release is assumed" in page()
    bowler.at_spares = "usual"
    bowler.save_checked(bowler.version)
    assert "Thrown with the usual release, as noted" in page()
    fit(bowler, staff, log, 3, "spares")
    assert "Measured on" in page()
    assert "as noted" not in page()
