"""A mail server for tests, on this machine alone: it speaks enough of RFC 5321 to take a letter or to refuse it."""

import socketserver
import threading
from contextlib import contextmanager, suppress


class Session(socketserver.StreamRequestHandler):
    """One connection: keeps what was sent in `server.taken`, and answers a command as `server.refuses` says."""

    def handle(self):
        self.say("220 mail.test")
        while line := self.rfile.readline():
            words = line.decode().strip()
            command = words.split(":")[0].split(" ")[0].upper()
            refusal = next((said for start, said in self.server.refuses.items() if words.startswith(start)), None)
            if refusal:
                self.say(refusal)
            elif command == "DATA":
                self.say("354 go on")
                self.server.taken.append(self.data())
                if self.server.hold:
                    self.server.hold.wait(60)
                self.say("250 taken")
            elif command == "QUIT":
                self.say("221 bye")
                return
            else:
                self.say("250 good")

    def data(self):
        lines = []
        while (line := self.rfile.readline()) not in (b".\r\n", b""):
            lines.append(line.removeprefix(b".") if line.startswith(b"..") else line)
        return b"".join(lines)

    def say(self, words):
        # Whoever sends may be gone by now.
        with suppress(BrokenPipeError, ConnectionResetError):
            self.wfile.write(words.encode() + b"\r\n")


@contextmanager
def mail_server(settings, refuses=(), hold=None):
    """Send by such a server for as long as this lasts; yields the letters that it took, as bytes.

    `hold`: an event; having taken a letter, the server says nothing before that is set.
    """
    socketserver.ThreadingTCPServer.daemon_threads = True
    with socketserver.ThreadingTCPServer(("127.0.0.1", 0), Session) as server:
        server.taken, server.refuses, server.hold = [], dict(refuses), hold
        thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.01})
        thread.start()
        settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
        settings.EMAIL_HOST, settings.EMAIL_PORT = server.server_address
        try:
            yield server.taken
        finally:
            server.shutdown()
            thread.join()
