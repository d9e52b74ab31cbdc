"""The ASGI application that serves the stream of changes, and nothing else. `python -m config.asgi` runs it."""

import argparse
import contextlib
import os

import uvicorn
from django.core.asgi import get_asgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.live_settings")
application = get_asgi_application()


class Server(uvicorn.Server):
    """Ends the streams before it waits for them to end."""

    async def shutdown(self, sockets=None):
        from production import live

        live.end()
        await super().shutdown(sockets)


def server(**options):
    """A server for the streams, quiet but for what goes wrong; `options` are those of uvicorn.Config."""
    # Without a configuration of its own for logs, its lines are written as all others.
    logs = {"access_log": False, "log_config": None, "log_level": "warning"}
    return Server(uvicorn.Config(application, lifespan="off", **logs, **options))


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--host", default="127.0.0.1")
    parser.add_argument("--port", type=int, default=8001)
    asked = parser.parse_args()
    with contextlib.suppress(KeyboardInterrupt):
        server(host=asked.host, port=asked.port).run()


if __name__ == "__main__":
    main()
