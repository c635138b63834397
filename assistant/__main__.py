"""Where the program starts: `assistant` and `python -m assistant`."""

from __future__ import annotations

import sys

FAILED, INTERRUPTED = 1, 130
"""As `assistant.cli.main.ExitStatus` has them, which may not be there to import."""


def main() -> None:
    """Runs the command line and leaves with its exit status; what nobody foresaw is told in a sentence too."""
    words = sys.argv[1:]
    try:
        from assistant.cli.main import run

        status = run(words)
    except KeyboardInterrupt:
        status = INTERRUPTED
    except ModuleNotFoundError as error:
        _tell(f"the package {error.name!r} is missing here. Install the program again with all it needs: pip install .")
        status = FAILED
    except Exception as error:
        if "--debug" in words:
            raise
        _tell(
            f"this is a fault in the program itself; what was kept before it stays ({type(error).__name__}: {error}). "
            "To see where it is, give the command once more with --debug after `assistant`."
        )
        status = FAILED
    sys.exit(status)


def _tell(sentence: str) -> None:
    # A name in the words of an error may hold orders to the terminal.
    plain = "".join(char if char.isprintable() else " " for char in sentence)
    sys.stderr.write(f"assistant: {plain}\n")


if __name__ == "__main__":
    main()
