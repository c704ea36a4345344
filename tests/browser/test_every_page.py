"""Every page of the site, in a real browser: three sizes, light and dark, enlarged, at rest."""

import pytest
from django.contrib.auth.models import User
from django.urls import URLPattern
from playwright.sync_api import Page

from proshop.models import Shop
from tests.browser.conftest import (
    DESK,
    PHONE,
    TABLET,
    Visitor,
    axe_findings,
    keep_picture,
    overflow,
    session_of,
)
from tests.furnished import furnish, patterns

# Addresses that take a form or answer with a part of a page.
NO_PAGES = {
    "units",
    "customer-export",
    *("person-link", "person-end", "person-second-end", "second-codes", "second-end"),
    *("sign-out", "fitting-finish", "fitting-reopen", "ranking-progress", "ranking-strip"),
    "rerank-standing",
    *("owned-ball-retire", "owned-ball-care", "stock-ball-move", "customer-condition-edit"),
    *("condition-states", "condition-file", "condition-preview"),
    "customer-tell-apart",
    *("delivery-save", "delivery-keep", "delivery-again"),
    *("delivery-drop", "delivery-restore", "delivery-confirm", "delivery-derived"),
    *("health", "phone-worker", "phone-report", "phone-link-end", "phone-report-decide"),
    *("rules-choose", "house-limit-back", "drill-plan-sign", "drill-plan-aside"),
    *("ticket-move", "ticket-label-pdf", "reminder-asked"),
    # Files, and pages that another state of the plan than the furnished one has.
    *("drill-sheet-pdf", "drill-plan-drilled", "drill-plan-weighed", "drill-plan-from-choice"),
    *(
        "sides-night",
        "sides-show",
        "phone-sheet-off",
        "office-file",
        "stock-file",
        "office-standing",
    ),
    *("weigh-in-pdf", "phone-by-ball"),
    *("ring-derived", "no-throw-derived", "no-throw-keep", "grip-preview"),
}
OF_THE_OWNER = {"office", "people", "person", "customer-privacy", "customers-erased"}
PAGES = [
    entry
    for entry in patterns()
    if entry[0].name not in NO_PAGES | {"sign-in"} and not entry[1].endswith(".csv")
]
IDS = [str(pattern.name) for pattern, _ in PAGES]
WITHOUT_TOKEN = "main form[method=post]:not(:has([name=form_token]))"
SEATS = {"phone": PHONE, "tablet": TABLET, "desk": DESK}
# 1280 pixels at 200 % (WCAG 2.2, 1.4.4) and at 400 % (1.4.10, reflow) are laid out as so many.
ZOOMED = {"200 %": (640, 400), "400 %": (320, 256)}
# What moves for longer than a blink though the system asks that nothing does.
MOVING = """[...document.querySelectorAll("*")].flatMap((part) => {
  const style = getComputedStyle(part);
  const times = [...style.transitionDuration.split(","), ...style.animationDuration.split(",")];
  return times.some((time) => parseFloat(time) > 0.02) ? [part.outerHTML.slice(0, 100)] : [];
})"""
# Every part of the page: all it says, where it stands, how large and whether it is shown; without
# what a theme sets.
ALL_BUT_COLOURS = """[...document.querySelectorAll("*")].map((part) => {
  const box = part.getBoundingClientRect();
  const style = getComputedStyle(part);
  const said = [...part.attributes].map(({name, value}) => {
    if (["data-bs-theme", "fill", "stroke"].includes(name)) return name;
    const colours = /(?<![-\\w])[-\\w]*(color|fill|stroke): [^;]*/g;
    return name + "=" + (name === "style" ? part.style.cssText.replace(colours, "") : value);
  });
  const own = [...part.childNodes].map((one) => one.nodeType === 3 ? one.data : "");
  return [part.tagName, said, own, box.x, box.y, box.width, box.height, style.display,
    style.visibility, style.clipPath, style.fontSize, style.fontWeight, style.textDecorationLine];
}).map((part) => part.join("\\u0000")).join("\\u0001")"""

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.mark.parametrize(("pattern", "route"), PAGES, ids=IDS)
def test_a_page_is_sound(
    pattern: URLPattern, route: str, visit: Visitor, shop: Shop, staff: User, owner: User
) -> None:
    """At three sizes, light and dark: no breach of the policy, no error, nothing wider than the
    window, nothing axe finds; enlarged nothing runs out of it; nothing moves that needn't."""
    address = furnish(shop, staff).address(pattern, route)
    who = owner if pattern.name in OF_THE_OWNER else staff
    wrong: list[str] = []
    # All are opened before any is looked at: while one is waited for, the others come to rest.
    # One session: the database in memory isn't written to while pages ask it.
    session = session_of(who)
    pages = {seat: visit(session, address, **screen) for seat, screen in SEATS.items()}
    for seat, page in pages.items():
        page.wait_for_load_state("networkidle")
        before = ""
        for scheme in ("light", "dark"):
            show(page, scheme)
            keep_picture(page, f"{pattern.name}-{seat}-{scheme}")
            now = page.evaluate(ALL_BUT_COLOURS)
            # What isn't about colours can only be found again where nothing but they have changed.
            found = axe_findings(page, of_colour=now == before)
            wrong += [f"{seat}, {scheme}: {one}" for one in found]
            before = now
        if overflow(page):
            wrong.append(f"{seat}: wider than the window by {overflow(page)} px")
        wrong += [f"{seat}: {said}" for said in page.troubles]  # type: ignore[attr-defined]
    for zoom, (width, height) in ZOOMED.items():
        page.set_viewport_size({"width": width, "height": height})
        if wide := settled_overflow(page):
            wrong.append(f"{zoom}: wider than the window by {wide} px")
    page.emulate_media(reduced_motion="reduce")
    wrong += [f"moves: {part}" for part in page.evaluate(MOVING)]
    assert page.locator("h1").count() == 1
    assert page.locator(WITHOUT_TOKEN).count() == 0
    assert wrong == []


def settled_overflow(page: Page) -> int:
    """What it is once charts have followed the window, which they do a little later."""
    for _ in range(100):
        if not overflow(page):
            return 0
        page.wait_for_timeout(50)
    return overflow(page)


def show(page: Page, scheme: str) -> None:
    """In light or dark, its colours having passed over to it."""
    page.emulate_media(color_scheme="dark" if scheme == "dark" else "light")
    page.evaluate("document.getAnimations().forEach((passing) => passing.finish())")


@pytest.mark.parametrize(
    ("dark", "same"),
    [("color: red; background: black", True), ("display: none", False), ("font-size: 9px", False)],
)
def test_only_colours_are_left_out_of_what_themes_are_compared_by(
    dark: str, same: bool, visit: Visitor
) -> None:
    page = visit(None, "about:blank")
    style = f"@media (prefers-color-scheme: dark) {{ p {{ {dark} }} }}"
    page.set_content(f"<p>Words</p><svg style='fill: red; width: 9px'></svg><style>{style}</style>")
    told = []
    for scheme in ("light", "dark"):
        show(page, scheme)
        told.append(page.evaluate(ALL_BUT_COLOURS))
        page.locator("svg").evaluate("(drawn) => { drawn.style.fill = 'blue' }")
    assert (told[0] == told[1]) is same


def test_rules_about_colours_find_what_all_rules_find_of_them(visit: Visitor) -> None:
    page = visit(None, "about:blank")
    page.set_content("<p style='color: #ddd; background: #eee'>Faint words</p><img src='data:,'>")
    everything = axe_findings(page)
    assert {one.split(":")[0] for one in everything} >= {"color-contrast", "image-alt"}
    assert [one.split(":")[0] for one in axe_findings(page, of_colour=True)] == ["color-contrast"]


@pytest.mark.parametrize("path", ["/sign-in/", "/no-such-page/"])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_pages_outside_the_shop_are_sound(
    path: str, scheme: str, visit: Visitor, staff: User
) -> None:
    page = visit(None if path == "/sign-in/" else staff, path, color_scheme=scheme, **PHONE)
    expected = [said for said in page.troubles if "404" not in said]  # type: ignore[attr-defined]
    assert expected == []
    assert overflow(page) == 0
    assert axe_findings(page) == []
