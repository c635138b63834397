"""How a live session begins: `python starting.py STORE BEGAN`, a session at a microphone that hears only silence.

It writes to standard error, each on a line, "sound" with the seconds since BEGAN (of the system's monotonic clock) when
sound is taken from the microphone, and then what `assistant session` writes there; it goes on until it is ended.
"""

from __future__ import annotations

import sys
import time
from functools import partial
from pathlib import Path

from assistant.cli.live import live_by_lines
from assistant.cli.screened import planned
from assistant.settings import Aloud


def main() -> None:
    store, began = Path(sys.argv[1]), float(sys.argv[2])

    def opened_sound():
        from assistant.sound.device import NULL
        from assistant.sound.microphone import Microphone, open_microphone

        microphone = Microphone(opener=partial(open_microphone, backends=NULL))
        sys.stderr.write(f"sound {time.monotonic() - began}\n")
        sys.stderr.flush()
        return microphone

    live_by_lines(
        planned(store, None, None, "microphone"), opened_sound, Aloud(say="nothing"), None, None, as_json=True
    )


if __name__ == "__main__":
    main()
