"""The week's folder: whose files lie in it, who is writing, and how its files are put in place and taken away."""

from __future__ import annotations

from engrave.output.week_folder.holding import BY_HAND, FolderError, FolderGone, WeekFolder, opened
from engrave.output.week_folder.ours import BENCH, OUR_FILES, known_files, read_json
from engrave.output.week_folder.store import (
    ADVICE,
    STORE,
    UNIT_LETTERS,
    Kept,
    advice_bytes,
    advice_kept,
    digest_at,
    digest_of,
    kept_of,
    record,
    record_of,
    told_lines,
    told_of,
    unit_id,
)
from engrave.output.week_folder.told_pieces import UNREADABLE, pieces_told

__all__ = [
    "ADVICE",
    "BENCH",
    "BY_HAND",
    "OUR_FILES",
    "STORE",
    "UNIT_LETTERS",
    "UNREADABLE",
    "FolderError",
    "FolderGone",
    "Kept",
    "WeekFolder",
    "advice_bytes",
    "advice_kept",
    "digest_at",
    "digest_of",
    "kept_of",
    "known_files",
    "opened",
    "pieces_told",
    "read_json",
    "record",
    "record_of",
    "told_lines",
    "told_of",
    "unit_id",
]
