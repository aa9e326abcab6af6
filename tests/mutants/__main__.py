"""Try mutants, and list those that no test notices.

    python -m tests.mutants                          all of them, before a release
    python -m tests.mutants --only groove-of-a-cone,datum-back
    python -m tests.mutants -k cutting               those with the word in their name, stage or file
    python -m tests.mutants --seconds 120            as many as fit
    python -m tests.mutants --list
    python -m tests.mutants --refit                  follow lines into the files that they were moved to

Exit status 0 if none survives and all could be tried.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections import Counter
from collections.abc import Sequence

from .reading import Mutant, load, refit
from .trying import tried


def main(words: list[str]) -> int:
    """Run the command; return its exit status."""
    asked = _asked(words)
    if asked.refit:
        print("moved: " + (", ".join(refit()) or "none"))
        return 0
    mutants = chosen(load(), asked.only, asked.k)
    if asked.list:
        print("\n".join(f"{m.stage}/{m.name}: {m.file}: {m.line!r} -> {m.becomes!r}" for m in mutants))
        return 0
    fates: Counter[str] = Counter()
    until = time.monotonic() + asked.seconds if asked.seconds else None
    for one in tried(mutants):
        fates[one.fate] += 1
        if one.fate != "killed" or asked.all:
            told = f"by {one.by} in {one.seconds:.0f} s" if one.by else one.mutant.says
            print(f"{one.fate}: {one.mutant.stage}/{one.mutant.name} ({one.mutant.file}) {told}", flush=True)
        if one.fate == "amiss":
            print(one.told)
        if until is not None and time.monotonic() > until:
            break
    print(f"{fates.total()} of {len(mutants)} tried: {', '.join(f'{n} {fate}' for fate, n in sorted(fates.items()))}")
    return 0 if fates["killed"] == fates.total() else 1


def chosen(mutants: Sequence[Mutant], only: str | None, word: str | None) -> list[Mutant]:
    """Return the mutants of these names, or with a word in name, stage or file. Raises SystemExit for unknown names."""
    names = only.split(",") if only else []
    unknown = set(names) - {m.name for m in mutants}
    if unknown:
        raise SystemExit(f"no mutant is called {', '.join(sorted(unknown))}; --list shows them")
    return [
        m for m in mutants
        if (not names or m.name in names) and (not word or word in f"{m.stage}/{m.name} {m.file}")
    ]  # fmt: skip


def _asked(words: list[str]) -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.mutants", description="Try mutants; list the survivors.")
    parser.add_argument("--only", help="names, with commas between")
    parser.add_argument("-k", help="a word in name, stage or file")
    parser.add_argument("--seconds", type=float, help="no new one is begun after so long")
    parser.add_argument("--all", action="store_true", help="tell also which test killed which mutant")
    parser.add_argument("--refit", action="store_true", help="follow lines into the files they were moved to")
    parser.add_argument("--list", action="store_true", help="show them, try none")
    return parser.parse_args(words)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
