"""Work given to an existing engine on several computers (Dask distributed): the same units, the same bytes.

The engine's workers put their files into the week's folder themselves, so every computer must reach that folder, and the
shop's, under the same names. Each says so before it is given anything, and that it has the same tables, typefaces,
libraries and program as this one; what an engine loses is given out again by the engine.
"""

from __future__ import annotations

import secrets
import signal
import threading
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import CancelledError
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path
from typing import Any, Generic, TypeVar
from urllib.parse import urlsplit

from engrave.errors import AskedWrong
from engrave.fingerprint import surroundings
from engrave.output.week_folder import STORE
from engrave.workers import Fate, never_fork_again, numbered

T = TypeVar("T")
R = TypeVar("R")

SCHEME = "dask"
KNOWN_AS = "engrave-units"
"""How the names begin under which a worker of the engine keeps what it has loaded: one for each week."""

WINDOW = 4
"""Units given out at a time for each worker: the next one is there when one is done, and few wait anywhere."""

ANSWERS_WITHIN = 20.0
"""Seconds in which an engine must answer when it is first spoken to."""

MARKED_BEFORE = 0.5
"""Seconds before a worker's process ends itself at which it leaves a file that says why."""

_turn = threading.Lock()
"""In a worker: one thing at a time, as our libraries and the process's one alarm ask, whichever week it is of."""


class EngineError(AskedWrong):
    """The engine cannot be used for this week; the message says why and what to do. Nothing is lost."""


@dataclass(frozen=True, slots=True)
class Conditions:
    """What must be so on a worker. folder: the week's; token: a file in it; around: digest of tables and program.

    Absolute folders, as a worker was begun elsewhere.
    """

    folder: Path
    token: str
    around: str
    shop_folder: Path | None

    @property
    def known_as(self) -> str:
        """The name under which a worker keeps what it loaded for this week."""
        return f"{KNOWN_AS}-{self.token}"

    def late(self, number: int) -> Path:
        """Return the file which says that a worker ended itself over a thing."""
        return self.folder / f"{self.token}-late-{number}"

    def lacking(self) -> str:
        """Return what is not so here, as the end of a sentence; '' if all is."""
        if not (self.folder / self.token).is_file():
            return f"does not see the week's folder {self.folder}: put it where all computers reach it under this name"
        if surroundings(self.shop_folder) != self.around:
            return (
                "has another program, other libraries or other tables of the shop: install the same everywhere, and put "
                "the shop's folder where all computers reach it"
            )
        return ""


class Engine(Generic[T, R]):
    """Workers of an existing engine. address: 'dask://HOST:PORT'.

    begin: called once in each worker; returns the function that works. It and the things are pickled. limit: seconds after
    which a worker's process ends itself over a thing, so that its keeper starts another. folder, shop_folder: absolute.
    """

    def __init__(
        self,
        address: str,
        begin: Callable[[], Callable[[T], R]],
        limit: Callable[[T], float],
        folder: Path,
        shop_folder: Path | None,
    ) -> None:
        self._address, self._begin, self._limit = _tcp(address), begin, limit
        self._folder, self._shop_folder = folder, shop_folder

    def ask(self) -> None:
        """Ask the engine whether each of its workers can make this week. Raises EngineError if not."""
        with self._client() as client, _token(self._folder) as token:
            told = client.run(_lacking, self._conditions(token))
        wrong = [f"{worker}: it {why}" for worker, why in sorted(told.items()) if why]
        if not told:
            raise EngineError(f"The engine at {self._address} has no workers. Start some, or leave out --engine.")
        if wrong:
            raise EngineError(f"The engine cannot make this week. Of its worker at {wrong[0]}.")

    def _conditions(self, token: str) -> Conditions:
        return Conditions(self._folder, token, surroundings(self._shop_folder), self._shop_folder)

    def answers(self, work: Iterable[T | None]) -> Iterator[tuple[int, R | Fate]]:
        """Yield (number, result) of each thing as it is done. A worker is asked before its first, whenever it joined.

        work: None among the things says that there is none just now, but perhaps after the next answer.
        Raises ConnectionError if the engine is lost midway, or a worker of it cannot make this week.
        """
        try:
            with self._client() as client, _token(self._folder) as token:
                here, workers = self._conditions(token), len(client.nthreads())
                if not workers:
                    raise ConnectionError(f"the engine at {self._address} has no workers left")
                client.register_plugin(_worker_plugin(self._begin, here), name=here.known_as)
                try:
                    yield from self._given_out(client, here.known_as, work, WINDOW * workers)
                finally:
                    with suppress(Exception):  # an engine that is gone holds nothing of ours
                        client.unregister_worker_plugin(here.known_as)
        except EngineError as error:
            raise ConnectionError(str(error).rstrip(".")) from error

    def _given_out(
        self, client: Any, known_as: str, work: Iterable[T | None], window: int
    ) -> Iterator[tuple[int, R | Fate]]:
        """Keep so many things given out, and yield what comes back."""
        library = _library()
        source = numbered(work)
        numbers: dict[str, int] = {}
        running = library.as_completed(loop=client.loop)

        def fill() -> None:
            while len(numbers) < window and (one := next(source, None)) is not None:
                number, thing = one
                future = client.submit(_worked, known_as, number, thing, self._limit(thing), pure=False)
                numbers[future.key] = number
                running.add(future)

        fill()
        for future in running:
            number = numbers.pop(future.key)
            try:
                yield number, future.result()
            except library.KilledWorker:
                yield number, "died"
            except CancelledError as error:
                raise ConnectionError(f"the engine at {self._address} was lost") from error
            finally:
                future.release()
            fill()

    @contextmanager
    def _client(self) -> Iterator[Any]:
        library = _library()
        never_fork_again("the engine's threads")
        try:
            client = library.Client(self._address, timeout=ANSWERS_WITHIN, set_as_default=False)
        except (OSError, ValueError) as error:
            raise EngineError(
                f"No engine answers at {self._address}. Start it, name another, or leave out --engine."
            ) from error
        with client:
            yield client


def _library() -> Any:
    """Return the engine's library, which is there on use only. Raises EngineError where it is not installed."""
    try:
        return import_module("distributed")
    except ImportError as error:
        raise EngineError("--engine needs one more library: pip install 'lid-lettering[cluster]'.") from error


def _tcp(address: str) -> str:
    parts = urlsplit(address)
    try:
        port = parts.port
    except ValueError:
        port = None
    if parts.scheme != SCHEME or not parts.hostname or port is None:
        raise EngineError(f"'{address}' names no engine. Write {SCHEME}://HOST:PORT, such as {SCHEME}://bench-2:8786.")
    return f"tcp://{parts.hostname}:{port}"


@contextmanager
def _token(folder: Path) -> Iterator[str]:
    """Put a file of a chance name into the week's own room for as long as workers are asked, or given things of the week."""
    name = f"{STORE}/engine-{secrets.token_hex(8)}"
    (folder / name).parent.mkdir(exist_ok=True)
    (folder / name).touch()
    try:
        yield name
    finally:
        for file in (folder / name).parent.glob(f"{Path(name).name}*"):
            file.unlink(missing_ok=True)


# --- in the engine's worker -------------------------------------------------------------------------------------


def _lacking(here: Conditions) -> str:
    return here.lacking()


def _worker_plugin(begin: Callable[[], Callable[[Any], Any]], here: Conditions) -> Any:
    """Return what each worker loads, those too that join later. Made here, as the library is there on use only."""
    plugin: Any = _library().WorkerPlugin

    class Loaded(plugin):  # type: ignore[misc]  # the library has no types
        """The function that works, loaded with the first thing."""

        def setup(self, worker: Any) -> None:
            self.work: Callable[[Any], Any] | None = None

        def do(self, number: int, thing: Any, seconds: float) -> Any:
            with _alone():
                if here.late(number).exists():  # another process has ended over it: it would end this one too
                    return "took-too-long"
                with _ended_after(seconds, here.late(number)):
                    if self.work is None:
                        why = here.lacking()
                        if why:
                            raise EngineError(f"A worker of the engine {why}.")
                        self.work = begin()
                    return self.work(thing)

    return Loaded()


def _worked(known_as: str, number: int, thing: Any, seconds: float) -> Any:
    return _library().get_worker().plugins[known_as].do(number, thing, seconds)


def _alone() -> Any:
    """Return what lets one thing at a time through; a function, as the plugin is sent away with all that it names."""
    return _turn


@contextmanager
def _ended_after(seconds: float, late: Path) -> Iterator[None]:
    """Have the system end this process after a time: what a library is caught in cannot be stopped otherwise.

    late: file that is left behind then, as whoever gave the thing out hears only that the process died.
    """
    if not hasattr(signal, "setitimer"):
        yield
        return
    told = threading.Timer(max(0.0, seconds - MARKED_BEFORE), late.touch)
    told.daemon = True
    told.start()
    signal.setitimer(signal.ITIMER_REAL, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0.0)
        told.cancel()
