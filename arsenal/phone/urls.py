"""Addresses of the bowler's page, and of the shop's page about it."""

from django.urls import path, register_converter

from arsenal.phone import views


class Token:
    """43 letters, figures, hyphens and underscores: 256 bits in base 64."""

    regex = "[A-Za-z0-9_-]{43}"

    def to_python(self, value: str) -> str:
        return value

    def to_url(self, value: str) -> str:
        return value


register_converter(Token, "token")

urlpatterns = [
    path("mine/worker.js", views.phone_worker, name="phone-worker"),
    path("mine/<token:token>/", views.phone_page, name="phone-page"),
    path("mine/<token:token>/by-ball/", views.phone_by_ball, name="phone-by-ball"),
    path("mine/<token:token>/report/", views.phone_report, name="phone-report"),
    path("customers/<int:pk>/phone/", views.phone_link, name="phone-link"),
    path("customers/<int:pk>/phone/end/", views.phone_link_end, name="phone-link-end"),
    path("phone-sheets/<int:pk>/off/", views.phone_sheet_off, name="phone-sheet-off"),
    path("phone-reports/<int:pk>/", views.phone_report_decide, name="phone-report-decide"),
]
