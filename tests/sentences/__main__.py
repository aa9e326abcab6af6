"""Print every sentence that the program can say, file by file: to be read through before a release."""

from __future__ import annotations

from itertools import groupby

from tests.sentences.reading import all_said


def main() -> None:
    """Print the list."""
    for file, some in groupby(all_said(), key=lambda said: said.file):
        print(f"\n{file}")
        for said in some:
            print(f"  {said.line:4d}  {said.text}")


if __name__ == "__main__":
    main()
