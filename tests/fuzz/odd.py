"""What nobody should send: values, files and addresses."""

from __future__ import annotations

import gzip
import io
import zipfile

from hypothesis import strategies as st

NUMBERS = [
    *("0", "-0", "-1", "1", "00", "+5", " 5 ", "5.", ".5", "1,5", "1_0", "0x10", "1e5", "1e308"),
    *("1e309", "-1e309", "1e-400", "1e999999999", "1e-999999999", "4.9e-324", "0.1" * 2),
    *("nan", "NaN", "-nan", "snan", "sNaN123", "inf", "-inf", "Infinity", "-Infinity", "∞", "−5"),
    *("2147483648", "9223372036854775807", "9223372036854775808", "-9223372036854775809"),
    *("9" * 40, "9" * 400, "9" * 5000, "1" + "0" * 308, "0." + "0" * 400 + "1", "1/2", "5 1/2"),
    *("１５", "٣", "५", "½", "²", "1\N{NO-BREAK SPACE}000", "15\n", "1e", "--1", "1-1", "%", "5%"),
]
WORDS = [
    *(
        "",
        " ",
        "\t",
        "\n",
        "\r\n",
        "\0",
        "a\0b",
        "\x01",
        "\x1f",
        "\x7f",
        "\x85",
        "\u2028",
        "\ufeff",
    ),
    *("None", "null", "undefined", "true", "on", "[]", "{}", "()", "[object Object]", "\\", "'"),
    *(
        "Zoë",
        "e\u0301",
        "a" + "\u0301" * 500,
        "ı",
        "İ",
        "ß",
        "ﬁ",
        "Å",
        "\N{LATIN SMALL LETTER LONG S}",
    ),
    *(
        "\u202edrowkcab",
        "\u2066x\u2069",
        "שלום",
        "مرحبا",
        "日本語",
        "\U0001f3b3",
        "\U0001f468\u200d\U0001f469",
    ),
    *("\ud800", "x\udfffy", "\ud83c", "\ufffe", "\uffff", "\U0010ffff", "\ue000"),
    *("=1+1", "+1", "-1+1", "@SUM(A1)", "\t=1", "＝1+1", '=HYPERLINK("http://example.invalid")'),
    *("../../etc/passwd", "..\\..\\x", "/etc/passwd", "file:///etc/passwd", "%2e%2e%2f", "%00"),
    *(
        "<script>alert(1)</script>",
        '"><img src=x onerror=alert(1)>',
        "&lt;",
        "{{ 7*7 }}",
        "{% x %}",
    ),
    *("' OR 1=1 --", "%s", "%(x)s", "{0}", "{x}", "${x}", "$1", "*", "_", "%%", "?", "#", "&", ";"),
    *("x" * 300, "x" * 20_000, "é" * 5000, "a b " * 3000, "\n" * 3000, "0" * 3000, "(" * 3000),
    *(
        "[" * 3000,
        '{"a":' * 2000,
        "[" * 2000 + "]" * 2000,
        '{"a":NaN}',
        '{"__proto__":1}',
        '"\\ud800"',
    ),
    *(
        "2026-02-30",
        "0001-01-01",
        "9999-12-31",
        "10000-01-01",
        "2026-11-26T25:00",
        "2026-11-26 01:30",
    ),
    *(
        "1969-12-31T23:59:59+00:00",
        "0001-01-01T00:00:00+23:59",
        "9999-12-31T23:59:59-23:59",
        "24:00",
    ),
    *(
        "00000000-0000-0000-0000-000000000000",
        "not-a-token",
        "1:2",
        "1|2",
        "1;2",
        "1,2,3",
        "3 1/2 x",
    ),
    *(
        "http://[",
        "//example.invalid",
        "javascript:x",
        "mailto:x@",
        "a@b",
        "tel:+1",
        "::1",
        "localhost",
    ),
    *(b"\xff\xfe", b"\xc3\x28", b"\x80" * 50, b"%", b"\xed\xa0\x80"),
]
# Fields of this size are under what a form may hold, and larger than any text has a use for.
LONG = ["x" * 200_000, "9" * 200_000, "1 " * 100_000, "-" * 200_000, "é" * 100_000, ".1" * 100_000]

VALUES: st.SearchStrategy[str | bytes] = st.one_of(
    st.sampled_from(NUMBERS),
    st.sampled_from(WORDS),
    st.integers(-1000, 1000).map(str),
    st.integers().map(str),
    st.floats(allow_nan=False).map(repr),
    st.floats(-400, 400).map(lambda number: f"{number:.3f}"),
    st.text(st.characters(), max_size=30),
    st.sampled_from(LONG),
)
IDENTITIES = st.sampled_from(
    [
        "0",
        "999999",
        "2147483648",
        "9223372036854775807",
        "9223372036854775808",
        "9" * 30,
        "9" * 5000,
    ]
)
TEXTS_IN_ADDRESSES = st.sampled_from(
    [
        "x",
        "thumb",
        "%00",
        "%2e%2e",
        "%ff",
        "%ED%A0%80",
        "'",
        "%22%3E",
        "x" * 3000,
        "%E2%80%AE",
        "None",
    ]
)


def _squeezed(name: str, size: int) -> bytes:
    """So many bytes of nothing in a thousandth of them."""
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as file:
        file.writestr(name, bytes(size))
    return held.getvalue()


BOMB = _squeezed("xl/workbook.xml", 20_000_000)
HEAD = b"name,hand,average (pins)\n"
FILES: st.SearchStrategy[bytes] = st.one_of(
    st.sampled_from(
        [
            *(b"", b"\0", b"\n\n\n", b"\xef\xbb\xbf", b"\xff\xfe", b"\xfe\xff", b"\xff\xfea", BOMB),
            *(gzip.compress(bytes(1_000_000)), _squeezed("../../evil.csv", 1000), b"PK\x03\x04"),
            *(b"\x89PNG\r\n\x1a\n", b"%PDF-1.7", b"GIF89a", b"\xd0\xcf\x11\xe0", b"MZ", b"<html>"),
            *(HEAD, HEAD * 3, HEAD + b'"', HEAD + b'"a"b,c\n', HEAD + b"=1+1,right,150\n"),
            *(HEAD + b"Zo\xeb,right,150\n", HEAD + b"a,b,c,d,e,f,g\n", HEAD + b"x" * 200_000),
            *(HEAD + b"A\0B,right,150\n", HEAD + b",,\n" * 12_000, b"sep=\n", b"sep=,\n" + HEAD),
            *(
                "name\thand\nZoë\tleft\n".encode("utf-16"),
                "name\n\ud800".encode("utf-8", "surrogatepass"),
            ),
            *(b"name;average (pins)\nA;nan\nB;1e400\n", b"," * 200_000, b'"' * 50_001),
        ]
    ),
    st.binary(max_size=400),
    st.text(max_size=100).map(lambda text: text.encode("utf-8", "surrogatepass")),
    st.lists(st.sampled_from([*NUMBERS[:60], "A", "right", "left", ""]), max_size=12).map(
        lambda cells: HEAD + ",".join(cells).encode()
    ),
)
FILE_NAMES = st.sampled_from(
    [
        "a.csv",
        "../../a.csv",
        "/etc/passwd",
        "..",
        "",
        "x" * 400,
        "a\\b.csv",
        "\u202evsc.a",
        "=1.csv",
        "a.exe",
    ]
)
