"""Pages for the printer: as PDF on either paper, and the codes on them."""

from __future__ import annotations

import logging
from pathlib import Path
from typing import Any

import segno
from django.contrib.staticfiles import finders
from django.http import HttpRequest, HttpResponse
from django.template.loader import render_to_string
from django.utils.safestring import SafeString, mark_safe

# Both print the same page: it is laid out for the width of A4 and the height of Letter.
PAPERS = {"letter": "Letter", "a4": "A4"}
FACE = "proshop/vendor/atkinson/atkinson-hyperlegible-next-latin-wght-normal.woff2"
STYLES = "arsenal/printed.css"
NO_PDF = (
    "This machine can't make PDFs: a library is missing (see “Printing” in README.md). Go back and "
    "print the page from the browser instead: it is the same sheet.\n"
)
logger = logging.getLogger(__name__)


def paper_of(request: HttpRequest, default: str = "letter") -> str:
    """The paper an address asks for; the shop's usual one otherwise."""
    asked = request.GET.get("paper", "").lower()
    return asked if asked in PAPERS else default


def pdf(
    request: HttpRequest,
    template: str,
    context: dict[str, Any],
    *,
    name: str,
    paper: str = "letter",
    slimmer: dict[str, Any] | None = None,
) -> HttpResponse:
    """A printed page as PDF on this paper, unless its styles name a page of their own.

    Where it takes more than one page, it is made again with ``slimmer`` in its context.
    """
    html = render_to_string(template, {**context, "for_pdf": True}, request=request)
    try:
        made, pages = pdf_bytes(html, paper)
        if slimmer and pages > 1:
            slim = {**context, **slimmer, "for_pdf": True}
            made, _ = pdf_bytes(render_to_string(template, slim, request=request), paper)
    except OSError as missing:
        # Raised where a shared library of the PDF maker isn't on this machine.
        logger.error("No PDF can be made: %s", missing)
        return HttpResponse(NO_PDF, status=503, content_type="text/plain; charset=utf-8")
    answer = HttpResponse(made, content_type="application/pdf")
    answer["Content-Disposition"] = f'inline; filename="{name}.pdf"'
    return answer


def pdf_bytes(html: str, size: str) -> tuple[bytes, int]:
    """HTML with the printed pages' styles as PDF, and its pages; it loads nothing but the site's
    own face."""
    # Imported here: it takes a moment, and only printing needs it and its shared libraries.
    from weasyprint import CSS, HTML
    from weasyprint.text.fonts import FontConfiguration
    from weasyprint.urls import URLFetcher

    fonts = FontConfiguration()
    face = _static(FACE)
    own = URLFetcher(allowed_protocols=["file"])
    styles = [
        CSS(
            string=f'@font-face {{ font-family: "Hyperlegible"; '
            f'src: url("{face.as_uri()}") }} @page {{ size: {size} }}',
            font_config=fonts,
            url_fetcher=own,
        ),
        CSS(string=_static(STYLES).read_text(), font_config=fonts, url_fetcher=own),
    ]
    document = HTML(string=html, url_fetcher=URLFetcher(allowed_protocols=[]))
    laid_out = document.render(stylesheets=styles, font_config=fonts)
    return laid_out.write_pdf(), len(laid_out.pages)


def qr_svg(address: str) -> SafeString:
    """A QR code (ISO/IEC 18004, error correction M) of an address as inline SVG."""
    code = segno.make(address, error="m", micro=False)
    return mark_safe(code.svg_inline(border=4, omitsize=True, svgclass="qr", lineclass=None))  # noqa: S308


def _static(name: str) -> Path:
    found = finders.find(name)
    if not isinstance(found, str):
        raise FileNotFoundError(name)
    return Path(found)
