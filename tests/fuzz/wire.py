"""Fields as the bytes that a browser, or something worse, would send."""

from __future__ import annotations

from urllib.parse import quote_from_bytes

Fields = list[tuple[str, str | bytes]]
File = tuple[str, str, bytes]
BOUNDARY = "a-boundary-that-no-field-holds"
FORM = "application/x-www-form-urlencoded"


def _bytes(value: str | bytes) -> bytes:
    """Lone surrogates go over the wire as they would from a program that doesn't care."""
    return value if isinstance(value, bytes) else value.encode("utf-8", "surrogatepass")


def encoded(fields: Fields) -> str:
    """For an address or the body of a plain form."""
    return "&".join(
        f"{quote_from_bytes(_bytes(name))}={quote_from_bytes(_bytes(value))}"
        for name, value in fields
    )


def in_parts(fields: Fields, files: list[File]) -> tuple[bytes, str]:
    """A form with files, and its content type."""
    lines: list[bytes] = []
    for name, value in fields:
        head = f'Content-Disposition: form-data; name="{_plain(name)}"'
        lines += [f"--{BOUNDARY}".encode(), _bytes(head), b"", _bytes(value)]
    for name, called, content in files:
        head = f'Content-Disposition: form-data; name="{_plain(name)}"; filename="{_plain(called)}"'
        lines += [f"--{BOUNDARY}".encode(), _bytes(head)]
        lines += [b"Content-Type: application/octet-stream", b"", content]
    lines += [f"--{BOUNDARY}--".encode(), b""]
    return b"\r\n".join(lines), f"multipart/form-data; boundary={BOUNDARY}"


def _plain(name: str) -> str:
    return name.replace("\r", " ").replace("\n", " ").replace('"', "%22")
