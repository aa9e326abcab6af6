"""A question answered by a process of its own, which takes with it all the memory that the answer asked for."""

from __future__ import annotations

import os
import pickle
import subprocess
import sys
import tempfile


def answer_of(module: str, asked: object, seconds: float) -> bytes:
    """Return what a module of ours writes when it is run with this, pickled, as its input. seconds: given up after them.

    Raises OSError, ValueError or SubprocessError where there is no answer.
    """
    where = {**os.environ, "PYTHONPATH": os.pathsep.join(path for path in sys.path if path)}
    with tempfile.TemporaryFile() as told:  # a pipe would take the bytes once more in memory
        pickle.dump(asked, told)
        told.seek(0)
        return subprocess.run(
            [sys.executable, "-P", "-m", module],  # nothing that lies about in the folder it runs in is loaded
            stdin=told,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            timeout=seconds,
            env=where,
            check=True,
        ).stdout
