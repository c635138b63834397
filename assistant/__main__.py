"""Where the program starts: `assistant` and `python -m assistant`."""

from __future__ import annotations

import sys


def main() -> None:
    """Runs the command line and leaves with its exit status."""
    from assistant.cli.main import run

    sys.exit(run(sys.argv[1:]))


if __name__ == "__main__":
    main()
