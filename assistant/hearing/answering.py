"""Answers from a process of its own, in which a library works; run as a script, with nothing of this package loaded.

Its one argument is a Python file with a class `Worker`, which is made once. It takes pickled (name of a method of it,
arguments) on its input, and gives (True, result) or (False, (whether the library refused, its words)) on its output.
"""

from __future__ import annotations

import os
import pickle
import runpy
import signal
import sys


def main(file: str) -> None:
    """Works until the input ends.

    Args:
        file: has the class `Worker`. Its methods raise ImportError or OSError where the library cannot run here, and
            RuntimeError or ValueError where the library refuses what it is given.
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the process that asks decides when to stop
    answers = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # what a library prints is no answer
    worker = runpy.run_path(file)["Worker"]()
    while True:
        try:
            name, arguments = pickle.load(sys.stdin.buffer)
        except EOFError:
            return
        try:
            answer = True, getattr(worker, name)(*arguments)
        except (ImportError, OSError, RuntimeError, ValueError) as error:
            answer = False, (isinstance(error, RuntimeError | ValueError), str(error))
        pickle.dump(answer, answers)
        answers.flush()


if __name__ == "__main__":
    main(sys.argv[1])
