"""What nobody should send, below HTTP: requests that are cut short, contradict themselves, or never end.

BROKEN are single ones, each with the answers that are right for it; `Bytes` draws others from a random.Random.
"""

import gzip
import random
import socket
from contextlib import suppress

NOTHING = 0
"""The connection is closed without a word: what came is no request."""
REFUSED = {400}
OK = {200}
HOST = b"Host: localhost\r\n"


def get(target=b"/health/", *headers, version=b"HTTP/1.1", host=HOST):
    return b"GET " + target + b" " + version + b"\r\n" + host + b"".join(each + b"\r\n" for each in headers) + b"\r\n"


def post(body, *headers, target=b"/sign-in/", length=None):
    said = b"Content-Length: %d" % (len(body) if length is None else length)
    head = (said, b"Content-Type: application/x-www-form-urlencoded", *headers)
    return get(target, *head).replace(b"GET", b"POST", 1) + body


def chunked(body, *headers):
    return get(b"/sign-in/", b"Transfer-Encoding: chunked", *headers).replace(b"GET", b"POST", 1) + body


def in_parts(number, *, boundary=b"x", ends=True):
    one = b'--x\r\nContent-Disposition: form-data; name="a"\r\n\r\n\r\n'
    body = one * number + (b"--x--\r\n" if ends else b"")
    kind = b"Content-Type: multipart/form-data; boundary=" + boundary
    return get(b"/sign-in/", b"Content-Length: %d" % len(body), kind).replace(b"GET", b"POST", 1) + body


CHUNKS = b"5\r\nhello\r\n0\r\n\r\n"
# RFC 9112: section 3 about the first line, 5 about headers, 6 and 7 about bodies, 11.2 about smuggling.
BROKEN = {
    # The first line.
    "a first line cut short": (b"GET /heal", {NOTHING}),
    "a method alone": (b"GET\r\n\r\n", REFUSED),
    "HTTP/0.9": (b"GET /health/\r\n", REFUSED),
    "HTTP/0.9 with an empty line": (b"GET /health/\r\n\r\n", REFUSED),
    "a version of the future": (get(version=b"HTTP/9.9"), {400, 505}),
    "no version at all": (get(version=b"HTTP/"), REFUSED),
    "a method in small letters": (get().replace(b"GET", b"get", 1), REFUSED),
    "a target of 9,000 signs": (get(b"/" + b"a" * 9000), {414}),
    "a target with a space": (get(b"/a b"), REFUSED),
    "a target with a NUL": (get(b"/\0"), REFUSED),
    "a target in Latin-1": (get(b"/\xff\xfe"), REFUSED),
    "an absolute target": (get(b"http://localhost/health/"), OK),
    "an absolute target elsewhere": (get(b"http://elsewhere.example/sign-in/"), {200, 400, 404}),
    "an absolute target that is none": (get(b"http://[/"), REFUSED),
    "a target of two slashes": (get(b"//elsewhere.example/%2e%2e"), {302, 400, 404}),
    "an asterisk": (get(b"*").replace(b"GET", b"OPTIONS", 1), {302, 400, 404, 405}),
    "CONNECT": (get(b"localhost:22").replace(b"GET", b"CONNECT", 1), {302, 400, 403, 404, 405}),
    "percent signs that are no code": (get(b"/%/%zz/%f?%=%&q=%zz"), {302, 404}),
    "bytes that are no UTF-8": (get(b"/%ff%fe/%c0%af/%ed%a0%80?q=%ff%00%0d%0a"), {302, 400, 404}),
    "a NUL in code": (get(b"/find/?q=%00"), {302, 400}),
    "a first line after an empty one": (b"\r\n" + get(), OK),
    "random bytes": (random.Random(1).randbytes(500) + b"\r\n\r\n", REFUSED),
    "TLS": (bytes.fromhex("16030100f1010000ed0303") + b"\0" * 200 + b"\r\n\r\n", REFUSED),
    "HTTP/2": (b"PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n", {400, 505}),
    # Headers.
    "a header of 100 kB": (get(b"/health/", b"X: " + b"a" * 100_000), {431}),
    "headers of 2 MB": (get(b"/health/", *[b"X: " + b"a" * 8000] * 250), {431}),
    "a head of 2 MB that never ends": (b"GET / HTTP/1.1\r\nX: " + b"a" * 2_000_000, {431}),
    "1,000 headers": (get(b"/health/", *[b"X-%d: a" % number for number in range(1000)]), {431}),
    "a NUL in a header": (get(b"/health/", b"X: a\0b"), REFUSED),
    "a bare CR in a header": (get(b"/health/", b"X: a\rY: b"), REFUSED),
    "bare LF": (b"GET /health/ HTTP/1.1\nHost: localhost\n\n", REFUSED),
    "bare LF between headers": (b"GET /health/ HTTP/1.1\r\nHost: localhost\nX: a\r\n\r\n", REFUSED),
    "a header without colon": (get(b"/health/", b"nothing"), REFUSED),
    "a header without name": (get(b"/health/", b": a"), REFUSED),
    "a space before the colon": (get(b"/health/", b"Content-Length : 3"), REFUSED),
    "a folded header": (get(b"/health/", b"X: a\r\n b"), REFUSED),
    "no host": (get(b"/sign-in/", host=b""), REFUSED),
    "another host": (get(b"/sign-in/", host=b"Host: elsewhere.example\r\n"), REFUSED),
    "two hosts": (get(b"/sign-in/", host=HOST + b"Host: elsewhere.example\r\n"), REFUSED),
    "a host that is none": (get(b"/sign-in/", host=b"Host: [::1\r\n"), REFUSED),
    "expects what nobody knows": (get(b"/health/", b"Expect: a-miracle"), {400, 417}),
    # How long the body is.
    "two lengths": (post(b"a=1", b"Content-Length: 30"), REFUSED),
    "a length of less than nothing": (get(b"/sign-in/", b"Content-Length: -1"), REFUSED),
    "a length with a sign": (get(b"/sign-in/", b"Content-Length: +3"), REFUSED),
    "a length in hexadecimal": (get(b"/sign-in/", b"Content-Length: 0x3"), REFUSED),
    "a length that is a list": (get(b"/sign-in/", b"Content-Length: 3, 3"), REFUSED),
    "a length and chunks": (chunked(CHUNKS, b"Content-Length: 3"), REFUSED),
    "chunks and a length": (post(CHUNKS, b"Transfer-Encoding: chunked"), REFUSED),
    "chunks twice": (chunked(CHUNKS, b"Transfer-Encoding: chunked"), REFUSED),
    "chunks that are not the last coding": (
        get(b"/sign-in/", b"Transfer-Encoding: chunked, gzip").replace(b"GET", b"POST", 1),
        REFUSED,
    ),
    "chunks behind a vertical tab": (get(b"/sign-in/", b"Transfer-Encoding: \x0bchunked"), REFUSED),
    # 501 is RFC 9112's own word (6.1) for a coding that isn't known.
    "a coding that nobody knows": (get(b"/sign-in/", b"Transfer-Encoding: xchunked"), {400, 501}),
    "chunks in HTTP/1.0": (chunked(CHUNKS).replace(b"HTTP/1.1", b"HTTP/1.0", 1), REFUSED),
    "chunks": (chunked(CHUNKS), {411}),
    "chunks of the wrong size": (chunked(b"3\r\nhello\r\n0\r\n\r\n"), {400, 411}),
    "chunks of no number": (chunked(b"zz\r\nhello\r\n0\r\n\r\n"), {400, 411}),
    "a chunk of 2^64": (chunked(b"ffffffffffffffff\r\nhello"), {400, 411}),
    "a body that is cut short": (post(b"username=ida", length=1000), {400, 403}),
    "a second request behind a body": (post(b"a=1") + get(b"/admin/"), {403}),
    # Bodies.
    "a form of 10,001 fields": (post(b"&".join([b"a=1"] * 10_001)), {400, 403}),
    "a form of bytes that are no UTF-8": (post(b"a=%ff&b=\xff\xfe&c=%00"), {400, 403}),
    "150,000 parts": (in_parts(150_000), {NOTHING, 400, 403}),
    "parts that never end": (in_parts(3, ends=False), {400, 403}),
    "parts with another line between": (in_parts(3, boundary=b"y"), {400, 403}),
    "parts without a line between": (in_parts(3, boundary=b""), {400, 403}),
    "parts with a line of 300 signs": (in_parts(3, boundary=b"y" * 300), {400, 403}),
    "a packed body": (post(gzip.compress(b"a=1"), b"Content-Encoding: gzip"), {400, 403, 415}),
    "a body that unpacks to 100 MB": (
        post(gzip.compress(b"\0" * 100_000_000, 9), b"Content-Encoding: gzip"),
        {400, 403, 415},
    ),
    "JSON 10,000 deep": (post(b"[" * 10_000 + b"]" * 10_000, target=b"/api/v1/orders"), {400, 401, 415}),
    "a body larger than anything": (post(b"a" * 9_000_000), {NOTHING, 400, 403}),
    "a body of another alphabet": (
        post(b"a=1", target=b"/sign-in/").replace(b"urlencoded", b"urlencoded; charset=utf-7"),
        {415},
    ),
}


class Bytes:
    """Draws requests that are spoiled at one place or several."""

    def __init__(self, rng):
        self.rng = rng

    def next(self):
        rng = self.rng
        sent = bytearray(rng.choice(list(BROKEN.values()))[0][:20_000] if rng.random() < 0.5 else self._sound())
        for _ in range(rng.choice([0, 1, 1, 2, 5, 30])):
            self._spoil(sent)
        return bytes(sent)

    def _sound(self):
        targets = (b"/health/", b"/sign-in/", b"/find/?q=a", b"/stations/railing/", b"/api/v1/orders", b"/static/x.css")
        target = self.rng.choice(targets)
        return self.rng.choice([get(target), post(b"username=ida&password=x", target=target), chunked(CHUNKS)])

    def _spoil(self, sent):
        rng = self.rng
        at = rng.randrange(len(sent) + 1)
        way = rng.randrange(6)
        if way == 0 and sent:
            sent[min(at, len(sent) - 1)] = rng.randrange(256)
        elif way == 1:
            del sent[at : at + rng.choice([1, 2, 20])]
        elif way == 2:
            sent[at:at] = rng.choice([b"\0", b"\r", b"\n", b"\r\n", b"\r\n\r\n", b" ", b":", b"\xff", b"%", b"\t"])
        elif way == 3:
            sent[at:at] = rng.choice(
                [
                    b"Content-Length: 5\r\n",
                    b"Transfer-Encoding: chunked\r\n",
                    b"Host: b\r\n",
                    b"Expect: 100-continue\r\n",
                ]
            )
        elif way == 4:
            sent[at:at] = sent[rng.randrange(len(sent) + 1) :][: rng.choice([1, 10, 300])]
        else:
            sent[at:at] = rng.randbytes(rng.choice([1, 8, 200]))


def answered(port, sent):
    """The status of the first answer to those bytes and its text; NOTHING where the connection is closed without one.
    No more is sent, and the other side knows."""
    with socket.create_connection(("127.0.0.1", port), timeout=20) as client:
        try:
            client.sendall(sent)
            # The other side may have gone already, with its answer sent.
            with suppress(OSError):
                client.shutdown(socket.SHUT_WR)
            said = read_all(client)
        except (ConnectionResetError, BrokenPipeError):
            said = b""
    status = said.split(b" ", 2)[1] if said.startswith(b"HTTP/") else b"0"
    return int(status), said.decode("utf-8", "replace")


def read_all(client):
    said = b""
    while data := client.recv(65536):
        said += data
    return said
