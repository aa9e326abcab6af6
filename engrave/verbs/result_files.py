"""Results put into files that were asked for, never over what is read."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from engrave.errors import AskedWrong
from engrave.files import reason, same_file
from engrave.making import Env
from engrave.output.writing import put
from engrave.shop.inputs import input_files

LID_ENDINGS = (".svg",)
PICTURE_ENDINGS = (".png",)
PROOF_ENDINGS = (".png", ".pdf")
CHOICES_ENDINGS = (".pdf", ".png")
LIST_ENDINGS = (".csv", ".html", ".pdf")
SHEET_ENDINGS = (".pdf",)


def ending(file: Path, allowed: Sequence[str]) -> str:
    """Return a file's ending in small letters, which says what is written into it. Raises AskedWrong for another."""
    found = file.suffix.lower()
    if found in allowed:
        return found
    last = allowed[-1] if len(allowed) == 1 else f"{', '.join(allowed[:-1])} or {allowed[-1]}"
    raise AskedWrong(f"{file!s:.200} was not written: give the file the ending {last}.")


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
