"""Addresses of the files. Each kind's lie beneath the list of its records."""

from django.urls import URLPattern, path

from proshop.files import views


def addresses(kind: str, beneath: str) -> list[URLPattern]:
    """The page of a kind of file, all records, and the template."""
    told = {"kind": kind}
    return [
        path(f"{beneath}file/", views.file_page, told, name=f"{kind}-file"),
        path(f"{beneath}file/all.csv", views.file_out, told, name=f"{kind}-file-out"),
        path(f"{beneath}file/template.csv", views.file_template, told, name=f"{kind}-template"),
    ]


urlpatterns = [
    path("files/<int:pk>/", views.sent_file, name="sent-file"),
    path("files/<int:pk>/faults.csv", views.sent_file_faults, name="sent-file-faults"),
]
