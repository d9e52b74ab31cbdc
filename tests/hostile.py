"""What nobody should send: values, headers, bodies and files, and the forms of a page to put them into.

Everything is drawn from a random.Random, so that a seed sends the same again.
"""

import functools
import io
import json
import random
import string
import zipfile
from dataclasses import dataclass, field
from html.parser import HTMLParser
from urllib.parse import quote, urlencode, urljoin, urlsplit

from tests.orders import made_files

BOUNDARY = "a-line-between"
ALPHABETS = (
    string.printable,
    "".join(map(chr, range(32))) + "\x7f\x80\x85\x9f",
    "٠١٢٣٤٥٦٧٨٩०१२३၄၅",
    "äöüßÆøñçİıſΣς",
    "日本語ﾊﾝｶｸ한국어עבריתالعربية",
    "\u200b\u200e\u202e\ufeff\u2028\u0301\U0001f600\U000e0041",
    "½²³①Ⅷ㍿",
)
VALUES = (
    *(
        "",
        " ",
        "0",
        "-1",
        "-0",
        "+1",
        "1e3",
        "1e400",
        "1e-400",
        "NaN",
        "sNaN",
        "inf",
        "-Infinity",
        "0x10",
        "1_000",
        "1,5",
    ),
    *("2147483647", "2147483648", "9223372036854775807", "9223372036854775808", "9" * 400, "0." + "3" * 400, "1." * 40),
    *("true", "None", "null", "undefined", "[]", "{}", "on", "../../etc/passwd", "/", "//elsewhere.example/", "?", "#"),
    *("0000-00-00", "9999-12-31", "10000-01-01", "2026-02-30", "0001-01-01", "2026-W09-1", "24:60", "2026-03-04T09:00"),
    *(
        "\0",
        "a\0b",
        "\r\nX-Made: up",
        "\ud800",
        "%00",
        "%",
        "%%s%n",
        "{0}",
        "{x}",
        "{{ 7 }}",
        "{% now %}",
        "'",
        "' OR 1=1--",
    ),
    *(
        "<script>alert(1)</script>",
        '"><img src=x>',
        "&amp;",
        "\\",
        "javascript:alert(1)",
        "=1+1",
        "\U0001f600",
        "é" * 200,
    ),
    *("٣", "²", "½", "x" * 10_000, "a b\tc\nd", "0000000000", "1-1", "1-1-1", "00000-000", "urn:uuid:" + "0" * 32),
    *(
        "00000000-0000-0000-0000-000000000000",
        "{" + "0" * 32 + "}",
        "name@example.org",
        "a@b",
        "@",
        "a\r\nBcc: b@c.example",
    ),
)
NAMES = ("q", "page", "code", "seen", "all", "next", "customer", "person", "number", "station", "kind", "first", "last")
NAMES += (
    "day",
    "from",
    "to",
    "then",
    "event_id",
    "maker",
    "issue",
    "waited_ms",
    "value",
    "key",
    "token",
    "month",
    "after",
)
HEADERS = {
    "HTTP_HOST": (
        "",
        "elsewhere.example",
        "localhost:99999",
        "local host",
        "[::1",
        "a" * 300,
        "localhost\0",
        "testserver:80",
    ),
    "HTTP_X_FORWARDED_FOR": ("", "1.2.3.4, 5.6.7.8", "unknown", "x" * 500, "::1", "\0", "1.2.3.4;drop", ",,,", "ü"),
    "HTTP_X_FORWARDED_HOST": ("elsewhere.example", "", "a,b", "\0"),
    "HTTP_X_FORWARDED_PROTO": ("https", "gopher", "https, http", ""),
    "HTTP_X_REQUEST_ID": ("", "x" * 65, "a\tb", "12345678", "\0" * 9, "ü" * 9),
    "HTTP_ACCEPT_LANGUAGE": ("es", "es-419;q=0.5, *;q=x", "x" * 6000, ",;q=,", "\0", "zz-ZZ", "en;q=1e400", "ü"),
    "HTTP_ACCEPT": ("", "*/*", "text/html", "application/json", "x/y;q=z", ";;;", "text/html;level=" + "9" * 999),
    "HTTP_REFERER": ("", "https://elsewhere.example/", "http://[", "\0", "/find/", "http://testserver/%ff%fe"),
    "HTTP_ORIGIN": ("null", "http://[", "https://elsewhere.example", "\0"),
    "HTTP_COOKIE": (
        *("sessionid=", "sessionid=x", "sessionid=" + "a" * 9000, "sessionid=\0", "=", ";;;", "a=b; a=c", "tablet=x"),
        *('sessionid="\\", x', "csrftoken=<>; django_language=zz", "django_language=es", "tablet=\0\xff; messages=x"),
    ),
    "HTTP_HX_REQUEST": ("true", "false", ""),
    "HTTP_HX_TARGET": ("bench", "\0", "%ff", "x" * 3000),
    "HTTP_HX_CURRENT_URL": ("http://testserver/", "http://[", "%ff%fe", "javascript:", "http://testserver/\0"),
    "HTTP_HX_CURRENT_URL_URI_AUTOENCODED": ("true",),
    "HTTP_HX_PROMPT": ("%ff", "\0"),
    "HTTP_X_PERSON": ("1", "x", "\0", ""),
    "HTTP_IF_MODIFIED_SINCE": ("never", "Thu, 01 Jan 1970 00:00:00 GMT", "0" * 99),
    "HTTP_IF_NONE_MATCH": ("*", '"x', "W/", '"\0"'),
    "HTTP_RANGE": ("bytes=0-", "bytes=-1", "bytes=9-1,2-", "lines=1"),
    "HTTP_AUTHORIZATION": ("", "Bearer", "Bearer x", "Bearer \0", "Basic !!!", "Bearer " + "x" * 9000, "Bearer ü"),
    "HTTP_IDEMPOTENCY_KEY": ("", "x", "x" * 999, "\0", "ü", "a b"),
    "HTTP_ACCEPT_ENCODING": ("gzip", "identity;q=0", "br;q=x", "*"),
    "HTTP_LAST_EVENT_ID": ("9" * 40, "\0"),
    "HTTP_X_HTTP_METHOD_OVERRIDE": ("DELETE",),
    "HTTP_CONTENT_ENCODING": ("gzip",),
    "REMOTE_ADDR": ("", "not an address", "::ffff:1.2.3.4", "fe80::1%eth0"),
    # The server below lets nothing in but digits.
    "CONTENT_LENGTH": ("", "0", "1", "99999999999"),
    "SCRIPT_NAME": ("/x",),
}
# What names another charset than UTF-8 gets no further than config/wsgi.py.
CONTENT_TYPES = (
    *("application/x-www-form-urlencoded", "text/plain", "multipart/form-data"),
    *(f"multipart/form-data; boundary={BOUNDARY}", "multipart/form-data; boundary=", "multipart/form-data; boundary=ü"),
    *("multipart/form-data; boundary=" + "x" * 300, f"multipart/mixed; boundary={BOUNDARY}"),
    *("application/json", "", ";", "a", "text/xml", "image/svg+xml", "\0", "application/x-www-form-urlencoded; a=b"),
)
METHODS = ("GET", "HEAD", "OPTIONS", "PUT", "PATCH", "DELETE", "TRACE", "POST", "PROPFIND", "get", "")


@dataclass
class Form:
    """A form as it stands on a page: where it sends what, as (name, value) pairs; `files` are the names of uploads."""

    address: str
    method: str = "POST"
    fields: list = field(default_factory=list)
    files: list = field(default_factory=list)


class _Forms(HTMLParser):
    def __init__(self, page):
        super().__init__()
        self.page, self.found, self.by_id = page, [], {}
        self.open = self.select = self.area = None

    def handle_starttag(self, tag, attrs):
        given = {name: value or "" for name, value in attrs}
        asks = next((name for name in ("hx-post", "hx-get") if name in given), None)
        if tag == "form":
            method = "POST" if asks == "hx-post" else given.get("method", "get").upper()
            self.open = self._form(given.get("action") or given.get(asks, ""), method)
            self.by_id[given.get("id")] = self.open
        elif asks:
            self.found.append(Form(urljoin(self.page, given[asks]), "POST" if asks == "hx-post" else "GET"))
        form = self.by_id.get(given.get("form"), self.open)
        if form is None or (tag != "option" and "name" not in given):
            return
        if tag == "input" and given.get("type") == "file":
            form.files.append(given["name"])
        elif tag in ("input", "button"):
            form.fields.append((given["name"], given.get("value", "")))
        elif tag == "select":
            self.select = (form, given["name"])
        elif tag == "textarea":
            form.fields.append((given["name"], ""))
        elif tag == "option" and self.select:
            self.select[0].fields.append((self.select[1], given.get("value", "")))

    def _form(self, address, method):
        form = Form(urljoin(self.page, address), method)
        self.found.append(form)
        return form

    def handle_endtag(self, tag):
        if tag == "form":
            self.open = None
        elif tag == "select":
            self.select = None


def forms_on(html, *, page):
    """Every form of a page, and what its parts ask by themselves; only those that stay on this server."""
    parser = _Forms(page)
    parser.feed(html)
    return [form for form in parser.found if not urlsplit(form.address).netloc]


@functools.cache
def good_files():
    """Customers' files that can be read, of each kind."""
    return (
        ("may.csv", made_files.separated()),
        ("may.txt", made_files.separated(by="\t", encoding="utf-16")),
        ("may.csv", made_files.separated(by=";", encoding="cp1252", quoted=True)),
        ("may.xlsx", made_files.one_sheet()),
        ("may.ods", made_files.open_document()),
    )


class Sender:
    """Draws what to send."""

    def __init__(self, rng: random.Random):
        self.rng = rng

    def value(self):
        rng = self.rng
        if rng.random() < 0.6:
            return rng.choice(VALUES)
        letters = rng.choice(ALPHABETS)
        return "".join(rng.choice(letters) for _ in range(rng.choice([1, 3, 10, 12, 60, 600])))

    def file(self):
        """(name, bytes): a good one, one cut off or changed in places, or nothing of the kind."""
        rng = self.rng
        name, content = rng.choice(good_files())
        way = rng.choice(["good", "cut", "changed", "changed", "random", "zip", "empty", "renamed"])
        if way == "cut":
            content = content[: rng.randrange(len(content))]
        elif way == "changed":
            changed = bytearray(content)
            for _ in range(rng.choice([1, 3, 30])):
                changed[rng.randrange(len(changed))] = rng.randrange(256)
            content = bytes(changed)
        elif way == "random":
            content = rng.randbytes(rng.choice([1, 100, 5000]))
        elif way == "zip":
            made = io.BytesIO()
            with zipfile.ZipFile(made, "w") as packed:
                packed.writestr(rng.choice(["[Content_Types].xml", "content.xml", "x", "../x"]), rng.randbytes(50))
            content = made.getvalue()
        elif way == "empty":
            content = b""
        if way == "renamed" or rng.random() < 0.2:
            name = rng.choice(
                ["x", "", ".", "a/../b.csv", "x" * 300 + ".xlsx", "may.XLSX", "may.pdf", "ü\u202e.csv", "a\0.csv"]
            )
        return name, content

    def headers(self):
        rng = self.rng
        names = rng.sample(list(HEADERS), rng.choice([0, 0, 0, 1, 1, 2, 4]))
        # The server below reads a header's bytes as Latin-1.
        return {name: latin(rng.choice(HEADERS[name])) for name in names}

    def query(self):
        rng = self.rng
        if rng.random() < 0.1:
            return rng.choice(
                ["%", "%ff=%fe", "a&b&&=", "q=%00", "page=%0a", "a" * 5000, "&" * 2000, "q=" + "%F0%9F%98%80" * 50]
            )
        return encoded([(rng.choice(NAMES), self.value()) for _ in range(rng.choice([0, 1, 1, 2, 5]))])

    def changed(self, fields):
        """A form's fields with one or a few of them spoiled, left out, given twice or made up."""
        rng, fields = self.rng, list(fields)
        if fields and rng.random() < 0.3:
            # A select's choices come one by one: mostly, one of each is sent.
            return fields
        kept = {}
        for name, value in rng.sample(fields, len(fields)):
            kept.setdefault(name, value)
        fields = list(kept.items())
        for _ in range(rng.choice([0, 1, 1, 2, 4, len(fields) or 1])):
            way = rng.random()
            if not fields or way < 0.1:
                fields.append((rng.choice(NAMES), self.value()))
            elif way < 0.2:
                fields.pop(rng.randrange(len(fields)))
            elif way < 0.3:
                fields.append((rng.choice(fields)[0], self.value()))
            else:
                at = rng.randrange(len(fields))
                fields[at] = (fields[at][0], self.value())
        return fields

    def form_body(self, form):
        """(content type, bytes) of the form, filled in badly."""
        fields, rng = self.changed(form.fields), self.rng
        if form.files and rng.random() < 0.9:
            return CONTENT_TYPES[3], multipart(fields, [(name, *self.file()) for name in form.files])
        if rng.random() < 0.1:
            return CONTENT_TYPES[3], multipart(fields, [("q", *self.file())] if rng.random() < 0.3 else [])
        return CONTENT_TYPES[0], encoded(fields).encode()

    def body(self):
        """(content type, bytes) that belong to no form."""
        rng = self.rng
        makes = (
            lambda: rng.randbytes(rng.choice([0, 1, 200])),
            lambda: encoded([(self.value()[:60], self.value()) for _ in range(3)]).encode(),
            lambda: b"a=%ff&b=\xff\xfe&c=%00",
            lambda: b"&".join([b"a=1"] * 10_001),
            lambda: b"q=" + b"x" * 3_000_000,
            lambda: b"[" * 50_000,
            lambda: b'{"a":' * 5_000 + b"1" + b"}" * 5_000,
            lambda: b'{"lines": [{"width_mm": 1e999, "drop_mm": NaN}], "customer": "\\ud800"}',
            lambda: json.dumps(self.value()).encode("utf-8", "surrogatepass"),
            lambda: multipart([("a", self.value())], [("file", *self.file())]),
            lambda: multipart([("a", "b")], [("file", *self.file())])[: rng.randrange(1, 200)],
            lambda: multipart([("a", "b")], []).replace(b"form-data", b"form-data; x*=utf-8''%ff"),
            lambda: multipart([(f"n{number}", "") for number in range(5000)], []),
            lambda: multipart([], [(f"n{number}", "a", b"") for number in range(200)]),
        )
        return rng.choice(CONTENT_TYPES), rng.choice(makes)()


def latin(text):
    return text.encode("utf-8", "surrogatepass").decode("latin-1")


def encoded(fields):
    return urlencode(
        [(name.encode("utf-8", "surrogatepass"), value.encode("utf-8", "surrogatepass")) for name, value in fields]
    )


def in_path(text):
    """`text` as one part of an address."""
    return quote(text.encode("utf-8", "surrogatepass"), safe="")


def multipart(fields, files):
    parts = []
    for name, value in fields:
        parts += [f'--{BOUNDARY}\r\nContent-Disposition: form-data; name="{name}"\r\n\r\n', value, "\r\n"]
    for name, called, content in files:
        said = f'form-data; name="{name}"; filename="{called}"'
        parts += [f"--{BOUNDARY}\r\nContent-Disposition: {said}\r\nContent-Type: text/csv\r\n\r\n", content, "\r\n"]
    parts.append(f"--{BOUNDARY}--\r\n")
    return b"".join(part if isinstance(part, bytes) else part.encode("utf-8", "surrogatepass") for part in parts)
