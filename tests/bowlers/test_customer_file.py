"""Customers as a CSV file: checked, imported all or not at all, and taken out again."""

from collections.abc import Callable
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from bowlers import customer_file
from bowlers.models import Bowler
from proshop.files import services
from proshop.files.kinds import Plan, kind_of
from proshop.files.reading import read, write
from proshop.models import SentFile, Shop
from tests.arsenal.records import token_in

KIND = kind_of("customers")


def plan(shop: Shop, text: str) -> Plan:
    return KIND.plan(shop, read(text, KIND.columns))


def words(shop: Shop, text: str) -> list[str]:
    return [fault.words for fault in plan(shop, text).faults]


def bring_in(shop: Shop, staff: User, text: str) -> SentFile:
    sent = services.keep_file(shop=shop, user=staff, kind=KIND, name="people.csv", text=text)
    fingerprint = services.plan_of(sent).fingerprint
    return services.import_file(sent=sent, fingerprint=fingerprint, user=staff)


def test_a_row_adds_a_customer(shop: Shop, staff: User) -> None:
    text = (
        "name;phone;hand;thumb;hands on the ball;finger holes;average (pins);year of birth;goal\n"
        'Ada Reed;+1 555 0142;left;no thumb;two hands;semi-fingertip;205;1990;"Carry, more"\n'
    )
    bring_in(shop, staff, text)
    ada = Bowler.objects.get()
    assert (ada.name, ada.phone, ada.phone_key) == ("Ada Reed", "+1 555 0142", "24105551")
    assert (ada.hand, ada.thumb, ada.hands, ada.fingers) == ("left", "none", "two", "semi")
    assert (ada.average, ada.born, ada.goal, ada.shop) == (205, 1990, "Carry, more", shop)
    (entry,) = ada.history.all()
    assert (entry.history_user, entry.history_type) == (staff, "+")
    assert entry.history_change_reason == "From the file people.csv"


def test_a_row_merges_into_what_is_there(shop: Shop, staff: User) -> None:
    ada = Bowler.objects.create(shop=shop, name="Ada Reed", phone="555 0142", goal="Carry more")
    bo = Bowler.objects.create(shop=shop, name="Bo Lind", notes="left early")
    text = (
        "customer number,name,phone,average (pins),goal,notes\n"
        ",ADA  reed,(555)0142,190,,\n"
        f"{bo.pk},Bo Lindqvist,,,,(empty)\n"
        ",Cy Ott,,,,\n"
    )
    sent = bring_in(shop, staff, text)
    assert (sent.added, sent.changed, sent.same) == (1, 2, 0)
    ada.refresh_from_db()
    bo.refresh_from_db()
    # Found by name and phone; an empty cell leaves what is there.
    assert (ada.name, ada.average, ada.goal, ada.version) == ("Ada Reed", 190, "Carry more", 2)
    assert (bo.name, bo.search_key, bo.notes) == ("Bo Lindqvist", "bo lindqvist", "")
    assert [entry.history_type for entry in bo.history.all()] == ["~", "+"]
    assert bo.history.first().created_at == bo.created_at


def test_a_file_taken_out_changes_nothing_when_it_is_brought_in(shop: Shop, staff: User) -> None:
    odd = ["=1+1", "'=1", "(empty)", "Zoë, “Z”", 'Q "q" Q', "+49 wide", "a\r\nb"]
    for number, text in enumerate(odd):
        Bowler.objects.create(
            shop=shop, name=f"{text} {number}", goal=text, notes=f"{text}\r\n", phone="+1-555-0100"
        )
    Bowler.objects.create(shop=shop, name="=SUM(A1)", average=0, born=1980, hand="left")
    found = plan(shop, write(KIND.columns, KIND.records(shop)))
    assert found.faults == []
    assert (len(found.added), len(found.changed), found.same) == (0, 0, len(odd) + 1)


def test_another_shops_file_holds_nothing_of_this_one(
    shop: Shop, other_shop: Shop, staff: User
) -> None:
    ada = Bowler.objects.create(shop=shop, name="Ada Reed")
    assert list(KIND.records(other_shop)) == []
    assert words(other_shop, f"customer number,name\n{ada.pk},Bo") == [
        f"Line 2, customer number: “{ada.pk}” is no customer of this shop: leave the cell empty to "
        "add one."
    ]
    assert len(plan(other_shop, "name\nAda Reed").added) == 1


def test_every_fault_of_every_row_is_told(shop: Shop) -> None:
    Bowler.objects.create(shop=shop, name="Di", phone="555 0101")
    twin = Bowler.objects.create(shop=shop, name="di", phone="5550101")
    text = (
        "name,phone,average (pins),year of birth\n"
        "Ada,call me,301,2400\n"
        ",555 0142,,\n"
        "Cy,,,\n"
        "CY,,,\n"
        "Di,555-0101,,\n"
    )
    assert words(shop, text) == [
        "Line 2, phone: “call me” must be a phone number of 4 to 15 digits, with spaces, hyphens, "
        "brackets or a plus if you like. Names and extensions belong in the notes.",
        "Line 2, average (pins): “301” must be a whole number from 0 to 300.",
        "Line 2, year of birth: “2400” must be a whole number from 1900 to 2100.",
        "Line 3, name: is missing: write text, 120 characters at most.",
        "Line 5 is about the same customer as line 4: keep one of the two.",
        f"Line 6, name: “Di” is the name of 2 customers with this phone: write the customer "
        f"number, {twin.pk - 1} and {twin.pk}.",
    ]


def test_a_name_that_is_there_with_another_phone_is_worth_a_look(shop: Shop) -> None:
    ada = Bowler.objects.create(shop=shop, name="Ada Reed", phone="555 0142")
    (note,) = plan(shop, "name,phone\nada reed,555 0199").notes
    assert f"also the name of customer {ada.pk}" in note.words


def test_one_fault_keeps_everything_out(shop: Shop, staff: User) -> None:
    text = "name,average (pins)\nAda,190\nBo,999\n"
    sent = services.keep_file(shop=shop, user=staff, kind=KIND, name="a.csv", text=text)
    found = services.plan_of(sent)
    assert not found.does_something
    with pytest.raises(services.PlanChanged):
        services.import_file(sent=sent, fingerprint=found.fingerprint, user=staff)
    assert Bowler.objects.count() == 0


def test_a_breakdown_halfway_leaves_nothing(
    shop: Shop, staff: User, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*args: Any, **kwargs: Any) -> None:
        raise OSError("the disk is full")

    monkeypatch.setattr("proshop.files.bulk.change_all", broken)
    Bowler.objects.create(shop=shop, name="Ada")
    with pytest.raises(OSError, match="full"):
        bring_in(shop, staff, "name,average (pins)\nAda,190\nBo,200\n")
    assert list(Bowler.objects.values_list("name", "average")) == [("Ada", None)]


@pytest.mark.parametrize("rows", [1, 300])
def test_checking_costs_two_queries_however_many_rows(
    shop: Shop, rows: int, django_assert_num_queries: Callable[[int], Any]
) -> None:
    text = "name,phone\n" + "".join(f"Customer {n},555 {n:04}\n" for n in range(rows))
    with django_assert_num_queries(2):
        assert len(plan(shop, text).added) == rows


def test_many_rows_are_written_in_batches(
    shop: Shop, staff: User, django_assert_max_num_queries: Callable[[int], Any]
) -> None:
    """SQLite takes 999 values a statement: some fifty customers, and as many of the history."""
    for hand in ("right", "left"):
        rows = "".join(f"Customer {n},555 {n:04},{hand}\n" for n in range(300))
        with django_assert_max_num_queries(30):
            bring_in(shop, staff, "name,phone,hand\n" + rows)
    assert Bowler.objects.filter(hand="left").count() == 300


def send(client: Client, text: str, name: str = "people.csv") -> Any:
    token = token_in(client.get("/customers/file/"))
    file = SimpleUploadedFile(name, text.encode())
    return client.post("/customers/file/", {"file": file, "form_token": token}, follow=True)


def confirm(client: Client, page: Any) -> Any:
    values = {"fingerprint": page.context["plan"].fingerprint, "form_token": token_in(page)}
    # The form that imports comes before any other with a token of its own.
    return client.post(page.redirect_chain[-1][0], values, follow=True)


def test_a_file_is_checked_then_imported(staff_client: Client, shop: Shop) -> None:
    page = send(staff_client, "name,average (pins)\nAda Reed,190\n")
    assert "What importing it does" in page.content.decode()
    assert Bowler.objects.count() == 0
    done = confirm(staff_client, page)
    assert "1 added, 0 changed" in done.content.decode()
    assert Bowler.objects.get().average == 190
    # What was sent isn't kept longer than needed; sending it again does nothing.
    assert SentFile.objects.get().text == ""
    again = staff_client.post(page.redirect_chain[-1][0], {"fingerprint": "x"}, follow=True)
    assert again.status_code == 200
    assert Bowler.objects.count() == 1


def test_what_was_checked_is_what_is_imported(staff_client: Client, shop: Shop) -> None:
    ada = Bowler.objects.create(shop=shop, name="Ada Reed", average=180)
    page = send(staff_client, "name,average (pins)\nAda Reed,190\n")
    Bowler.objects.filter(pk=ada.pk).update(average=200)
    done = confirm(staff_client, page)
    assert "Nothing was imported: records were changed" in done.content.decode()
    assert "200 to 190" in done.content.decode()
    ada.refresh_from_db()
    assert ada.average == 200


def test_faults_are_listed_page_by_page_and_as_a_file(staff_client: Client, shop: Shop) -> None:
    page = send(staff_client, "name,average (pins)\n" + "Ada,999\n" * 150)
    text = page.content.decode()
    assert "150 faults found" in text
    assert "Page 1 of 2" in text
    assert "Import the file" not in text
    listed = staff_client.get(page.redirect_chain[-1][0] + "faults.csv").content.decode("utf-8-sig")
    assert len(listed.splitlines()) == 151
    assert listed.splitlines()[1] == "2,average (pins),999,must be a whole number from 0 to 300."


@pytest.mark.parametrize(
    ("content", "complaint"),
    [
        (b"", "The file is empty"),
        ("name\nZoë".encode("cp1252"), "Line 2 isn’t UTF-8 text"),
        (b"x" * 5_000_001, "larger than 5 MB"),
        (b"PK\x03\x04", "is a spreadsheet"),
    ],
)
def test_a_file_that_is_none_is_refused_at_once(
    staff_client: Client, content: bytes, complaint: str
) -> None:
    file = SimpleUploadedFile("people.csv", content)
    page = staff_client.post("/customers/file/", {"file": file})
    assert complaint in page.content.decode()
    assert SentFile.objects.count() == 0


def test_no_file_is_asked_for(staff_client: Client) -> None:
    assert "No file was chosen" in staff_client.post("/customers/file/", {}).content.decode()


def test_the_template_and_all_customers_come_as_files(staff_client: Client, shop: Shop) -> None:
    Bowler.objects.create(shop=shop, name="=Ada")
    empty = staff_client.get("/customers/file/template.csv")
    assert empty["Content-Type"] == "text/csv; charset=utf-8"
    assert empty.content.decode("utf-8-sig").startswith("customer number,name,phone,hand")
    everybody = staff_client.get("/customers/file/all.csv").content.decode("utf-8-sig")
    assert "'=Ada" in everybody


def test_another_shop_can_t_see_or_import_a_file(
    staff_client: Client, other_staff_client: Client, shop: Shop
) -> None:
    page = send(staff_client, "name\nAda Reed\n")
    address = page.redirect_chain[-1][0]
    assert other_staff_client.get(address).status_code == 404
    stolen = other_staff_client.post(address, {"fingerprint": page.context["plan"].fingerprint})
    assert stolen.status_code == 404
    assert other_staff_client.get(f"{address}faults.csv").status_code == 404
    assert Bowler.objects.count() == 0


def test_a_year_of_birth_to_come_is_refused(shop: Shop) -> None:
    assert words(shop, "name,year of birth\nAda,2099") == [
        "Line 2, year of birth: “2099” is to come: write the year of birth with four digits."
    ]


def test_a_long_file_finds_the_same_customers(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    """Of a long one all customers of the shop are looked at, not those it names."""
    ada = Bowler.objects.create(shop=shop, name="Ada Reed", phone="555 0142")
    bo = Bowler.objects.create(shop=shop, name="Bo Lind")
    text = (
        "customer number,name,phone,goal\n"
        f",ada reed,5550142,Strike\n{bo.pk},Bo Lind,,Spare\n,Cy Ott,,\n"
    )
    found = []
    for few in (3, 2):
        monkeypatch.setattr(customer_file, "FEW_ROWS", few)
        one = plan(shop, text)
        found.append(([bowler.pk for bowler in one.stale], len(one.added), one.faults))
    assert found[0] == found[1] == ([ada.pk, bo.pk], 1, [])
