"""The cast: the people whom the stories in the tests are about."""

import os
from collections.abc import Callable, Generator
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.test import Client
from hypothesis import settings as drawn

from proshop.models import Membership, Shop
from tests.databases import template_kept

CI = os.environ.get("CI") == "true"
# The driver of the browser runs an event loop in the tests' own thread.
os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "true")

# A machine with other work to do is no fault of what is tested.
drawn.register_profile("patient", drawn(deadline=None))
drawn.load_profile("patient")

PASSWORD = "correct horse battery"


@pytest.fixture(scope="session")
def django_db_setup(django_db_setup: None) -> Generator[None, None, None]:
    """Its tables are kept for tests with databases of their own, too."""
    with template_kept():
        yield


@pytest.fixture(autouse=True)
def plain_settings(settings: Any) -> None:
    """Static files under their own names, quick passwords, and no lock between tests."""
    settings.STORAGES = {
        **settings.STORAGES,
        "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
    }
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]


@pytest.fixture(autouse=True)
def tokens_of_no_words(monkeypatch: pytest.MonkeyPatch) -> None:
    """A page's random token spells nobody's name: checks look for names in the whole page."""
    monkeypatch.setattr("django.middleware.csrf.CSRF_ALLOWED_CHARS", "jkqvwxyz")


@pytest.fixture
def shop(db: None) -> Shop:
    return Shop.objects.create(name="Two Counters")


@pytest.fixture
def other_shop(db: None) -> Shop:
    return Shop.objects.create(name="Across the Street")


def member(username: str, shop: Shop, role: str) -> User:
    first, *_ = username.split("-")
    user = User.objects.create_user(username, password=PASSWORD, first_name=first.title())
    Membership.objects.create(user=user, shop=shop, role=role)
    return user


@pytest.fixture
def owner(shop: Shop) -> User:
    return member("olive", shop, Membership.Role.OWNER)


@pytest.fixture
def staff(shop: Shop) -> User:
    return member("sam", shop, Membership.Role.STAFF)


@pytest.fixture
def second_staff(shop: Shop) -> User:
    return member("dana", shop, Membership.Role.STAFF)


@pytest.fixture
def other_staff(other_shop: Shop) -> User:
    return member("otto", other_shop, Membership.Role.STAFF)


@pytest.fixture
def outsider(db: None) -> User:
    """Has an account but works in no shop."""
    return User.objects.create_user("nora", password=PASSWORD)


@pytest.fixture
def sign_in() -> Callable[[User], Client]:
    """A browser of this person's own, signed in."""

    def signed_in(user: User) -> Client:
        client = Client()
        client.force_login(user, backend="django.contrib.auth.backends.ModelBackend")
        return client

    return signed_in


@pytest.fixture
def owner_client(owner: User, sign_in: Callable[[User], Client]) -> Client:
    return sign_in(owner)


@pytest.fixture
def staff_client(staff: User, sign_in: Callable[[User], Client]) -> Client:
    return sign_in(staff)


@pytest.fixture
def second_staff_client(second_staff: User, sign_in: Callable[[User], Client]) -> Client:
    return sign_in(second_staff)


@pytest.fixture
def other_staff_client(other_staff: User, sign_in: Callable[[User], Client]) -> Client:
    return sign_in(other_staff)


@pytest.fixture
def stranger_client(db: None) -> Client:
    """Nobody signed in."""
    return Client()


@pytest.fixture
def stranger(stranger_client: Client) -> Client:
    return stranger_client


# What starts servers, browsers and workers: files of few tests that take minutes.
LONGEST = {"faults", "browser", "fuzz", "test_killed_workers.py", "test_deploy.py",
           "test_migrations.py", "test_backup.py", "test_serve.py", "test_served.py"}  # fmt: skip


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """The longest files first: at the end no process is left with one by itself."""
    items.sort(key=lambda item: LONGEST.isdisjoint(item.path.parts))


def _refuse_skip(report: pytest.TestReport | pytest.CollectReport) -> None:
    if CI and report.skipped and not hasattr(report, "wasxfail"):
        report.outcome = "failed"
        report.longrepr = f"Nothing may be skipped here, but this was: {report.longrepr}"


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport() -> Generator[None, pytest.TestReport, pytest.TestReport]:
    """A skipped test fails where CI=true."""
    report = yield
    _refuse_skip(report)
    return report


@pytest.hookimpl(wrapper=True)
def pytest_make_collect_report() -> Generator[None, pytest.CollectReport, pytest.CollectReport]:
    """A skipped module fails where CI=true."""
    report = yield
    _refuse_skip(report)
    return report
