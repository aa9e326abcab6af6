"""The week's folder: whose it is, who is writing into it, and in which order its files are put in place and taken away.

Nothing that is not ours is ever written over or taken away. What a run is about to do is put down first, so that even
after a power cut the next run knows every file; and what lies there from an earlier run says so from the first write on.
"""

from __future__ import annotations

import errno
import os
import platform
import secrets
import tempfile
from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from datetime import datetime
from hashlib import sha256
from itertools import chain
from pathlib import Path
from typing import Protocol

from filelock import FileLock, Timeout

from engrave.errors import ForPeople
from engrave.on_disk import DiskMap
from engrave.output.week_folder.ours import (
    BENCH,
    FOLDERS,
    FURTHER_PAGES,
    MARK_FILE,
    PAGES,
    Known,
    known_files,
    mark_bits,
)
from engrave.output.week_folder.stale import stale_files
from engrave.output.week_folder.store import STORE, UNITS_FOLDER, digest_at, digest_of_bits, record_of
from engrave.output.writing import PART_NAME, fresh_mode, put_bits, put_inside, sync

WAIT = 2.0
"""Seconds that a run waits for another one in the same folder: one that is ending anyway."""

BY_HAND = "changed_by_hand"
"""Folder for files of ours that somebody changed: they are neither kept as ours nor lost."""

NAMES_SHOWN = 5
"""FileNames told one by one in a message."""

OF_THE_DISK = (errno.ENOSPC, errno.EDQUOT, errno.EIO, errno.EMFILE, errno.ENFILE)
"""What ends a run midway rather than telling that the folder is of no use."""


class FileNames(Protocol):
    """FileNames of files, to be gone through as often as needed; there may be too many to hold."""

    def __iter__(self) -> Iterator[str]:
        """Yield them."""
        ...


class FolderError(ForPeople, ValueError):
    """The folder cannot be used, and nothing was written; the message says why and what to do."""


class FolderGone(OSError):
    """What this run put into the folder is no longer there."""


@contextmanager
def opened(folder: Path, names: FileNames, inputs: Iterable[Path]) -> Iterator[WeekFolder]:
    """Make the folder if need be and hold it alone until the block ends.

    names: every file that may be written, such as 'lids/F-101.svg'. inputs: files that are read, and so never written.
    Raises FolderError, with nothing made, if a file of somebody else lies under such a name, if an input would be
    written over, if the folder cannot be written, or if another run holds it.
    """
    _check(folder, names, inputs)
    entered = False
    try:
        (folder / STORE).mkdir(parents=True, exist_ok=True)
        with _held(folder):
            known = _check(folder, names, inputs)  # the run that held it until now may have written some
            entered = True
            yield WeekFolder(folder, known)
    except OSError as error:
        if entered or error.errno in OF_THE_DISK:
            raise
        raise FolderError(
            f"The folder {folder} cannot be written: {error.strerror or error}. Nothing was made."
        ) from error


def _check(folder: Path, names: Iterable[str], inputs: Iterable[Path]) -> Known:
    """Return what is ours in the folder. Raises FolderError where a file that is not would be written over."""
    known = known_files(folder)
    read = {place: path for path in inputs if (place := _place(path)) is not None}
    places, foreign = {"", STORE}, set()
    over: dict[str, Path] = {}
    for name in chain(names, PAGES, (BENCH,)):
        places.add(name.rpartition("/")[0])
        if not os.path.lexists(folder / name):
            continue
        if (place := _place(folder / name)) in read and place is not None:
            over[name] = read[place]
        if name not in known.files:
            foreign.add(name)
    for name in known.files:
        if (place := _place(folder / name)) in read and place is not None:
            over[name] = read[place]
    _refuse(folder, places, over, sorted(foreign))
    return known


def _refuse(folder: Path, places: Iterable[str], over: Mapping[str, Path], foreign: Sequence[str]) -> None:
    """Raise FolderError if a file lies where a folder must be, or an input or somebody's file would be written over."""
    for path in (folder / place for place in sorted(places)):
        if os.path.lexists(path) and not path.is_dir():
            raise FolderError(f"{path} is a file, and a folder of that name is needed. Nothing was made.")
    if over:
        name = min(over)
        raise FolderError(
            f"{over[name]} is read by this run, and the week's own {name} would be written over it. Nothing was "
            "made. Name another folder with --out."
        )
    if foreign:
        told = ", ".join(foreign[:NAMES_SHOWN]) + (
            f" and {len(foreign) - NAMES_SHOWN} more" if len(foreign) > NAMES_SHOWN else ""
        )
        raise FolderError(
            f"The folder {folder} holds {told}, which this program did not write there and would now write over. "
            "Nothing was made. Move that away, or name another folder with --out."
        )


def _places_of(names: Iterable[str]) -> set[str]:
    """Return the folders, within the week's, that files lie in."""
    return {name.rpartition("/")[0] for name in names}


def _place(path: Path) -> tuple[int, int] | None:
    """Return what tells a file apart however it is named; None if there is none."""
    try:
        found = path.stat()
    except (OSError, ValueError):
        return None
    return found.st_dev, found.st_ino


@contextmanager
def _held(folder: Path) -> Iterator[None]:
    """Hold the folder alone; the system lets go of it when this process ends, however it ends."""
    holder = folder / STORE / "held_by"
    lock = FileLock(folder / STORE / "lock", timeout=WAIT)
    try:
        lock.acquire()
    except Timeout:
        who = _who(holder)
        raise FolderError(
            f"Another run is writing into {folder}: {who}. Nothing was made. Wait until it has ended, or name another "
            "folder with --out."
        ) from None
    try:
        now = datetime.now().astimezone().isoformat(" ", "seconds")
        put_inside(holder, f"process {os.getpid()} on {platform.node() or 'this computer'}, since {now}")
        yield
    finally:
        with suppress(OSError):
            holder.unlink(missing_ok=True)
        with suppress(OSError):
            lock.release()


def _who(holder: Path) -> str:
    try:
        return holder.read_text("utf-8")[:200].strip() or "it does not say who"
    except (OSError, ValueError):
        return "it does not say who"


@dataclass(slots=True)
class WeekFolder:
    """A week's folder while a run holds it. known: what is ours in it; moved: what was found changed by hand.

    part: how the names of this run's temporary files begin. new: digests of the files that this run puts in place.
    """

    path: Path
    known: Known
    moved: list[str] = field(default_factory=list)
    part: str = PART_NAME
    new: DiskMap = field(default_factory=DiskMap)
    _marked: DiskMap = field(default_factory=DiskMap)
    _staged: dict[str, Path] = field(default_factory=dict)

    def begin(self, names: FileNames, keep: Container[str]) -> None:
        """Say in the week's files that they are of an earlier run, and make ready for this one.

        names: what may be written. keep: files of ours that stay as they are. Other files of ours that were changed by
        hand are moved into a folder of their own first.
        """
        token = secrets.token_hex(4)
        self.part = f"{PART_NAME}{token}-"
        (self.path / UNITS_FOLDER).mkdir(exist_ok=True)
        self.clean(self.known.token)
        self.moved += [n for n, _ in self.known.files.sorted_items() if n not in keep and self._set_aside(n)]
        for name in self.known.files:
            if name == BENCH or FURTHER_PAGES.match(name):
                # week.html, which leads to them, says why they are not there
                (self.path / name).unlink(missing_ok=True)
        coming = (n for n in chain(names, self.known.files) if n not in (*PAGES, BENCH) and n not in keep)
        stale = stale_files(self.path, DiskMap((name, ()) for name in coming))
        self._marked = DiskMap(self.known.files)
        self._mark({name: digest_of_bits(bits()) for name, bits in stale.items()}, token)
        for name, bits in stale.items():
            put_bits(self.path / name, bits(), self.part)
        sync([self.path])

    def stage(self, name: str, bits: Iterable[str | bytes]) -> None:
        """Write one of the week's pages beside its place, bit by bit; `commit` puts all of them in place."""
        handle, part = tempfile.mkstemp(prefix=self.part, dir=self.path)
        self._staged[name] = Path(part)
        digest = sha256()
        with os.fdopen(handle, "wb") as file:
            for bit in bits:
                data = bit.encode("utf-8") if isinstance(bit, str) else bit
                digest.update(data)
                file.write(data)
            file.flush()
            os.fsync(file.fileno())
        self.new[name] = frozenset({digest.hexdigest()})

    def commit(self) -> None:
        """Put the staged pages in place; week.json last, because it lists what lies in the folder."""
        own = {name: digest for name in self._staged for digest in self.new[name]}
        self._mark(own, self.part.removeprefix(PART_NAME).rstrip("-"))
        for name in sorted(self._staged, key=lambda name: (name == "week.json", name == "week.csv", name)):
            part = self._staged[name]
            part.chmod(fresh_mode())
            part.replace(self.path / name)
        self._staged.clear()

    def finished(self) -> tuple[str, ...]:
        """Return the files of this run that lie in place, in the order in which they were announced."""
        return tuple(name for name, digests in self.new.items() if digest_at(self.path / name) in digests)

    def announced(self, files: Mapping[str, str]) -> None:
        """Take up the digests of files that are about to be put in place, by name."""
        for name, digest in files.items():
            self.new[name] = frozenset({digest})

    def take_away(self, keep: Container[str], units: Iterable[str]) -> tuple[str, ...]:
        """Remove files of ours that are no longer made, and records of units that are no more; return the files' names."""
        gone = []
        for name, _ in self.known.files.sorted_items():
            path = self.path / name
            if name not in keep and name not in PAGES and path.is_file() and not path.is_symlink():
                path.unlink()
                gone.append(name)
        wanted = {Path(record_of(unit)).name for unit in units}
        for path in (self.path / UNITS_FOLDER).iterdir():
            if path.name not in wanted and path.is_file():
                path.unlink()
        return tuple(gone)

    def sync(self) -> None:
        """Have the system write down what was put in place and taken away."""
        places = [self.path / place for place in (*sorted(_places_of(chain(self.new, self.known.files))), UNITS_FOLDER)]
        sync(place for place in places if place.is_dir())
        sync([self.path])

    def end(self, keep: Iterable[tuple[str, Iterable[str]]]) -> None:
        """Make sure that what was put in place lies there, and leave the mark by which the next run knows it.

        keep: files of an earlier run that stay, with the digests they may have. Raises FolderGone if something is missing.
        """
        self.sync()
        for name, digests in self.new.items():
            if digest_at(self.path / name) not in digests:
                says = f"{name} was put into {self.path} and is no longer there as it was written"
                raise FolderGone(errno.ENOENT, says)
        self._marked = DiskMap(keep)
        for name, digests in self.new.items():
            self._marked[name] = self._marked.get(name, frozenset()) | digests
        self._mark({}, "")

    def clean(self, token: str) -> None:
        """Remove what a run left half-written: only files that begin as its mark says; and in our store, any."""
        places = [self.path / place for place in sorted({"", *_places_of(self.known.files), *FOLDERS})]
        parts = {p for place in places if token for p in place.glob(f"{PART_NAME}{token}-*")}
        for store in (self.path / STORE, self.path / UNITS_FOLDER):
            parts |= set(store.glob(f"{PART_NAME}*"))
        for part in sorted(parts):
            part.unlink(missing_ok=True)

    def dropped(self) -> None:
        """Clean up after a run that was cut short, as far as that can be done."""
        with suppress(OSError):
            self.clean(self.part.removeprefix(PART_NAME).rstrip("-"))

    def _mark(self, more: Mapping[str, str], token: str) -> None:
        for name, digest in more.items():
            self._marked[name] = self._marked.get(name, frozenset()) | {digest}
        put_bits(self.path / MARK_FILE, mark_bits(self._marked, token))
        sync([self.path / STORE])

    def _set_aside(self, name: str) -> bool:
        """Move a file of ours that was changed by hand out of the way; tell whether it was one."""
        path = self.path / name
        if not os.path.lexists(path) or not self.known.is_changed(self.path, name):
            return False
        target, number = self.path / BY_HAND / name, 1
        while os.path.lexists(target):
            number += 1
            target = (self.path / BY_HAND / name).with_name(f"{path.stem}.{number}{path.suffix}")
        target.parent.mkdir(parents=True, exist_ok=True)
        path.rename(target)
        sync([path.parent, target.parent])
        return True
