"""Pages of the files: one for each kind, and one for each file that was sent."""

from __future__ import annotations

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from proshop.access import ShopRequest, once, staff_required
from proshop.files import services
from proshop.files.columns import Words
from proshop.files.forms import SendForm
from proshop.files.kinds import kind_of
from proshop.files.reading import LIMITS, write
from proshop.models import SentFile

FAULTS_A_PAGE = 100
ROWS_SHOWN = 50
# Spreadsheets take a file for UTF-8 only by this mark.
BYTE_ORDER_MARK = "\N{BYTE ORDER MARK}"
FAULT_COLUMNS = tuple(
    Words(name=name, attribute=name, longest=10_000, several_lines=True)
    for name in ("line", "column", "value", "what is wrong and what to do")
)


def csv_answer(text: str, name: str) -> HttpResponse:
    return HttpResponse(
        BYTE_ORDER_MARK + text,
        content_type="text/csv; charset=utf-8",
        headers={"Content-Disposition": f'attachment; filename="{name}.csv"'},
    )


@staff_required
@require_http_methods(["GET", "POST"])
@once
def file_page(request: ShopRequest, kind: str) -> HttpResponse:
    """What the file of a kind holds; takes one, to be checked."""
    about = kind_of(kind)
    form = SendForm(request.POST, request.FILES) if request.method == "POST" else SendForm()
    if request.method == "POST" and form.is_valid():
        sent = services.keep_file(
            shop=request.shop, user=request.user, kind=about, name=form.name, text=form.text
        )
        return redirect(sent)
    earlier = SentFile.objects.for_shop(request.shop).filter(kind=kind, imported_at__isnull=False)
    context = {
        "kind": about,
        "form": form,
        "limits": LIMITS,
        "earlier": earlier.select_related("sent_by")[:5],
    }
    return render(request, "proshop/files/kind.html", context)


@staff_required
@require_GET
def file_out(request: ShopRequest, kind: str) -> HttpResponse:
    """Everything the shop has of a kind."""
    about = kind_of(kind)
    day = timezone.localdate().isoformat()
    return csv_answer(write(about.columns, about.records(request.shop)), f"{about.slug}-{day}")


@staff_required
@require_GET
def file_template(request: ShopRequest, kind: str) -> HttpResponse:
    """The headings alone, to be filled in."""
    about = kind_of(kind)
    return csv_answer(write(about.columns, []), f"{about.slug}-template")


def _sent(request: ShopRequest, pk: int) -> SentFile:
    found: SentFile = get_object_or_404(
        SentFile.objects.for_shop(request.shop).select_related("shop", "sent_by"), pk=pk
    )
    return found


@staff_required
@require_http_methods(["GET", "POST"])
@once
def sent_file(request: ShopRequest, pk: int) -> HttpResponse:
    """What importing a file would do; does it when sent back with the plan's fingerprint."""
    sent = _sent(request, pk)
    kind = kind_of(sent.kind)
    if request.method == "POST":
        fingerprint = request.POST.get("fingerprint", "")
        try:
            done = services.import_file(sent=sent, fingerprint=fingerprint, user=request.user)
        except services.PlanChanged:
            messages.error(
                request,
                "Nothing was imported: records were changed after the file was checked. Look at "
                "what it would do now.",
            )
        else:
            messages.success(request, f"{done.name}: {done.added} added, {done.changed} changed.")
        return redirect(sent)
    if sent.is_imported:
        return render(request, "proshop/files/imported.html", {"kind": kind, "sent": sent})
    plan = services.plan_of(sent)
    faults = Paginator(sorted(plan.faults), FAULTS_A_PAGE).get_page(request.GET.get("page"))
    context = {
        "kind": kind,
        "sent": sent,
        "plan": plan,
        "faults": faults,
        "notes": plan.notes[:ROWS_SHOWN],
        "added": plan.added[:ROWS_SHOWN],
        "changed": plan.changed[:ROWS_SHOWN],
        "form": SendForm(),
    }
    return render(request, "proshop/files/sent.html", context)


@staff_required
@require_GET
def sent_file_faults(request: ShopRequest, pk: int) -> HttpResponse:
    """Every fault of a file, as a file."""
    faults = [] if (sent := _sent(request, pk)).is_imported else services.plan_of(sent).faults
    rows = (
        dict(
            zip(
                (column.attribute for column in FAULT_COLUMNS),
                (str(fault.line or ""), fault.column, fault.value, fault.told),
                strict=True,
            )
        )
        for fault in sorted(faults)
    )
    return csv_answer(write(FAULT_COLUMNS, rows), "faults")
