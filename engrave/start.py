"""Where the program begins: from its first line on, whatever ends it from outside ends it with a sentence.

Nothing large is imported before that is so.
"""

from __future__ import annotations

import gc
import os
import sys

from engrave import signals

OBJECTS_BETWEEN_LOOKS = 200_000
"""New objects after which circles of unused ones are looked for: while modules load and tables are read, none are unused
(the usual 700 cost an eighth of one text's time, 50,000 a fifteenth). 200,000 objects are some tens of MB."""

ONE_THREAD = ("OPENBLAS_NUM_THREADS", "1")
"""Variable of the library below numpy, unless it is set already: it would start a thread a core, as nothing here has
matrices large enough for two, and a forked process would lack them."""


def main() -> None:
    """Run the command line; see `engrave.cli`."""
    try:
        signals.heed(at_once=True)
        gc.set_threshold(OBJECTS_BETWEEN_LOOKS)
        os.environ.setdefault(*ONE_THREAD)
        from engrave.cli import main as command

        signals.heed()
        command()
    except SystemExit:
        signals.ignore()
        gc.freeze()  # all goes with the process: a last look for circles among it took an eighth of one text's time
        raise
    except BaseException as error:
        signals.ignore()
        if not signals.asked() and not isinstance(error, KeyboardInterrupt):
            raise
        print(signals.STOPPED_SAYS, file=sys.stderr)
        sys.exit(signals.STOPPED)


if __name__ == "__main__":
    main()
