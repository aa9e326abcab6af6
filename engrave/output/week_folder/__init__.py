"""The week's folder: whose files lie in it, who is writing, and how its files are put in place and taken away."""

from __future__ import annotations

from engrave.output.week_folder.holding import BY_HAND, FolderError, FolderGone, WeekFolder, opened
from engrave.output.week_folder.ours import BENCH, OURS, digest_of, known_files, read_json

__all__ = [
    "BENCH",
    "BY_HAND",
    "OURS",
    "FolderError",
    "FolderGone",
    "WeekFolder",
    "digest_of",
    "known_files",
    "opened",
    "read_json",
]
