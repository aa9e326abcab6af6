"""Results put into files that were asked for, never over what is read."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from engrave.errors import AskedWrong
from engrave.files import reason, same_file
from engrave.making import Env
from engrave.output.writing import put
from engrave.shop.inputs import input_files


def put_result(file: Path, data: bytes | str, env: Env, inputs: Sequence[Path] = ()) -> None:
    """Write a result; never over what is read. Raises AskedWrong with the reason, and then nothing is changed."""
    for read in (*inputs, *input_files(env.folder)):
        if same_file(file, read):
            raise AskedWrong(f"{file} was not written: it is read for the answer ({read}). Name another file.")
    try:
        put(file, data)
    except OSError as error:
        raise AskedWrong(f"{file} was not written: {reason(error)}. Name another file or folder.") from error
    except ValueError as error:
        raise AskedWrong(f"{file!s:.200} was not written: no file can have such a name.") from error
