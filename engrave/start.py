"""Where the program begins: from its first line on, whatever ends it from outside ends it with a sentence.

Nothing large is imported before that is so.
"""

from __future__ import annotations

import gc
import sys

from engrave import signals

OBJECTS_BETWEEN_LOOKS = 200_000
"""New objects after which circles of unused ones are looked for: while modules load and tables are read, none are unused
(the usual 700 cost an eighth of one text's time, 50,000 a fifteenth). 200,000 objects are some tens of MB."""


def main() -> None:
    """Run the command line; see `engrave.cli`."""
    try:
        signals.heed(at_once=True)
        gc.set_threshold(OBJECTS_BETWEEN_LOOKS)
        from engrave.cli import main as command

        signals.heed()
        command()
    except SystemExit:
        signals.ignore()
        raise
    except BaseException as error:
        signals.ignore()
        if not signals.asked() and not isinstance(error, KeyboardInterrupt):
            raise
        print(signals.STOPPED_SAYS, file=sys.stderr)
        sys.exit(signals.STOPPED)


if __name__ == "__main__":
    main()
