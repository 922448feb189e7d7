"""A process that runs one import after another, each in a child that may be killed.

    python -m tests.ingest.imports_to_kill LOG

It makes a database with one frame, says 'ready', and from then on forks a child for
each line that it reads; the child is the command `import_log` as a shell runs it, with
Django loaded already, so that it is killed at its work and not at its start. It tells
the child's number, and when it ended, its exit status.
"""

import os
import sys
import traceback

import django
from django.core.management import call_command
from django.db import connections


def main(log: str) -> None:
    django.setup()
    from tests import make
    from wintering.frames.models import Frame

    call_command("migrate", verbosity=0)
    if not Frame.objects.filter(slug="long").exists():
        make.frame(slug="long")
    connections.close_all()
    tell("ready")
    for _ in sys.stdin:
        child = os.fork()
        if not child:
            run(log)
        tell(str(child))
        _, status = os.waitpid(child, 0)
        tell(str(os.waitstatus_to_exitcode(status)))


def run(log: str) -> None:
    code = 1
    with open(os.devnull, "w") as nowhere:
        try:
            call_command("import_log", log, "--frame", "long", stdout=nowhere)
            code = 0
        except BaseException:
            traceback.print_exc()
            raise
        finally:
            os._exit(code)


def tell(line: str) -> None:
    sys.stdout.write(f"{line}\n")
    sys.stdout.flush()


if __name__ == "__main__":
    main(sys.argv[1])
