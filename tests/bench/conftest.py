"""One browser for all that is measured in one."""

from tests.browser.conftest import browser, visit

__all__ = ["browser", "visit"]
