"""``python -m care_rules decide FILE``: decisions without the rest of the shop."""

import sys

from care_rules.cli import run

if __name__ == "__main__":
    sys.exit(run(sys.argv[1:], sys.stdin, sys.stdout, sys.stderr))
