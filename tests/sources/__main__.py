"""Count the test functions that check against something outside the project, and list what.

    python -m tests.sources            how many, and each source with how many functions rest on it
    python -m tests.sources --where    also which

A function says so itself: `@pytest.mark.source("ISO 3098-1, lettering type B")`.
"""

from __future__ import annotations

import sys

from .reading import by_source, marked, stage_of


def main(words: list[str]) -> None:
    """Run the command."""
    found = marked()
    sources = by_source(found)
    for source, functions in sources.items():
        print(f"{len(functions):3} {source}")
        if "--where" in words:
            print("\n".join(f"      {f.path}::{f.name}" for f in functions))
    stages: dict[str, int] = {}
    for f in found:
        stages[stage_of(f)] = stages.get(stage_of(f), 0) + 1
    print(", ".join(f"{stage} {count}" for stage, count in sorted(stages.items())))
    print(f"{len(found)} functions check against {len(sources)} sources outside the project.")


if __name__ == "__main__":
    main(sys.argv[1:])
