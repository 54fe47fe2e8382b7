#!/usr/bin/env python3
"""The one command line of the shop: `demo` and `test` set themselves up, the rest is Django's."""

import os
import sys

# Asked before the modules below, which an older Python can't read.
if sys.version_info < (3, 11):  # noqa: UP036
    sys.exit(
        f"Garment Counter needs Python 3.11 or later, and {sys.executable} is "
        f"{sys.version.split()[0]}. Install a newer Python and run manage.py with it."
    )

from counter.site import setup as setup_environment


def main() -> None:
    arguments = sys.argv[1:]
    setup_environment.enter(arguments)
    if arguments[:1] == ["test"]:
        sys.exit(setup_environment.run_tests(arguments[1:]))
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "counter.settings")
    from django.core.management import execute_from_command_line

    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    try:
        main()
    except KeyboardInterrupt:
        sys.exit(130)  # what a shell expects of a command stopped by hand
