"""A real server in a process of its own, with a data folder of its own and a clock that is moved from outside.

Reads ISO moments from standard input, one a line, sets the clock to each and answers `set`.
"""

import os
import sys
import threading
from datetime import datetime


def main(port: int) -> None:
    import django

    django.setup()
    from django.core.management import call_command
    from django.core.servers.basehttp import ThreadedWSGIServer, WSGIRequestHandler

    from shop import clock
    from shop.wsgi import application

    call_command("migrate", verbosity=0, interactive=False)

    class Quiet(WSGIRequestHandler):
        def log_message(self, *args):
            pass

    server = ThreadedWSGIServer(("127.0.0.1", port), Quiet, allow_reuse_address=True)
    server.set_app(application)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    sys.stdout.write("serving\n")
    sys.stdout.flush()
    for line in sys.stdin:
        clock.set_to(datetime.fromisoformat(line.strip()))
        sys.stdout.write("set\n")
        sys.stdout.flush()
    server.shutdown()


if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")
    main(int(sys.argv[1]))
