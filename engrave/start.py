"""Where the program begins: from its first line on, whatever ends it from outside ends it with a sentence.

Nothing large is imported before that is so.
"""

from __future__ import annotations

import sys

from engrave import signals


def main() -> None:
    """Run the command line; see `engrave.cli`."""
    try:
        signals.heed(at_once=True)
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
        print(signals.SAYS, file=sys.stderr)
        sys.exit(signals.STOPPED)


if __name__ == "__main__":
    main()
