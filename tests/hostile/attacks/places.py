"""Commands told to write where nothing can be written, or to read what is no file."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from random import Random

from .. import mutations, program
from ..protocol import Fault

PLACES = ("no/such/folder/x.EXT", "a_folder", "x" * 300 + ".EXT", "a_file/x.EXT", "", ".", "..", "/", "/dev/full", "/proc/x.EXT", "nul\0.EXT", "ok.EXT", "ok",
          "loop", "loop/x.EXT", "-", "~/x.EXT/", "é\udcff.EXT", "con.EXT")  # fmt: skip
COMMANDS = (
    ("try", "Ida", "--svg", "*.svg"), ("try", "Ida", "--proof", "*.png"), ("try", "Ida", "--picture", "*.png"), ("try", "Ida", "--why", "--picture", "*.png"),
    ("shelf", "lids", "--picture", "*.png"), ("shelf", "typefaces", "--picture", "*.png"), ("shelf", "woods", "--picture", "*.png"),
    ("testpiece", "--cutter", "v60", "--wood", "maple", "--svg", "*.svg"), ("testpiece", "--cutter", "v60", "--wood", "maple", "--sheet", "*.pdf"),
    ("testpiece", "--cutter", "co2-tube", "--wood", "oak", "--shop", "*", "--record", "along=0.3"), ("batch", "orders.csv", "--out", "*"), ("batch", "*.csv", "--out", "out"),
    ("batch", "orders.csv", "--out", "out", "--shop", "*"), ("quote", "*.csv"), ("clock", "*.csv", "--machine", "bench-router", "--week", "*"),
    ("clock", "log.csv", "--machine", "bench-router", "--week", "*"), ("batch", "orders.csv", "--out", "out", "--only", "WORD"), ("try", "WORD", "--message", "WORD", "--foot", "WORD"),
    ("try", "Ida", "--lid", "WORD"), ("try", "Ida", "--typeface", "WORD"), ("try", "Ida", "--wood", "WORD"), ("try", "Ida", "--cutter", "WORD"), ("try", "Ida", "--setting", "WORD"),
    ("try", "Ida", "--spacing", "WORD"), ("try", "Ida", "--thicken", "NUMBER %"), ("try", "Ida", "--spacing", "NUMBER %"), ("quote", "--words", "Ida", "--quantity", "NUMBER"),
    ("quote", "--words", "WORD"), ("quote", "--words", "Ida", "--changes", "NUMBER"), ("batch", "orders.csv", "--out", "out", "--start", "WORD"),
    ("batch", "orders.csv", "--out", "out", "--start", "9999-12-31"), ("batch", "orders.csv", "--out", "out", "--start", "0001-01-01"),
    ("testpiece", "--cutter", "co2-tube", "--wood", "oak", "--shop", "shop", "--record", "along=NUMBER"), ("testpiece", "--cutter", "WORD", "--wood", "WORD", "--svg", "ok.svg"),
)  # fmt: skip


class Places:
    """Commands with odd arguments. A case is the JSON list of them."""

    name, share, suffix, full = "places", 1.5, ".json", 1500

    def make(self, random: Random) -> bytes:
        """Return a command."""
        return json.dumps([self._word(w, random) for w in random.choice(COMMANDS)]).encode()

    def _word(self, word: str, random: Random) -> str:
        if word.startswith("*"):
            return random.choice(PLACES).replace(".EXT", word[1:])
        return word.replace("WORD", mutations.word(random)).replace("NUMBER", mutations.number(random))

    def run(self, case: bytes, place: Path) -> Iterator[Fault]:
        """Give the command in a folder with a file, a folder, a link that loops, a table and a log."""
        (place / "a_file").write_text("a file of the shop's", "utf-8")
        (place / "a_folder").mkdir()
        (place / "shop").mkdir()
        (place / "loop").symlink_to(place / "loop")
        (place / "orders.csv").write_text(
            "order,name,lid,typeface,wood,due\nA-1,Ida,card-box,withy,walnut,2026-12-04\n", "utf-8"
        )
        (place / "log.csv").write_text("order,piece,seconds\nA-1,1,300\n", "utf-8")
        words = [w.replace("\0", "") for w in json.loads(case)]  # no system passes a NUL in an argument
        asked = [w for i, w in enumerate(words) if not w.startswith("-") or i == 0 or w.startswith("--") or w == "-"]
        answer = program.ask(*asked)
        yield from answer.faults((0, 1, 2, 3) if asked[0] == "batch" else (0, 1, 2))
        if (place / "a_file").read_text("utf-8") != "a file of the shop's":
            yield Fault("lost", "a file of the shop's is not as it was")
