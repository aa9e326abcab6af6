"""The table of findings in DEVELOPERS.md: `python tests/tools/finding_table.py` writes it anew, a test compares it."""

from __future__ import annotations

from pathlib import Path

from made_findings import PACKAGE, made

from engrave.findings import FINDINGS, HELP

GUIDE = Path(__file__).resolve().parents[2] / "DEVELOPERS.md"
BEGIN, END = "<!-- findings: written by tests/tools/finding_table.py -->", "<!-- end of findings -->"


def table() -> str:
    """Return the block as it stands in the guide, from its first marker to its last."""
    rooms = _rooms()
    rows = [
        f"| `{code}` | {', '.join(f.levels)} | {f.means} | {', '.join(rooms[code])} | {f.help or '–'} |"
        for code, f in FINDINGS.items()
    ]
    kinds = [f"- {kind or '–'}: {who}" for kind, who in HELP.items()]
    head = ["| code | levels | meaning | made in | helped by |", "|---|---|---|---|---|"]
    return "\n".join([BEGIN, "", *head, *rows, "", "What is tried as a remedy:", "", *kinds, "", END])


def _rooms() -> dict[str, list[str]]:
    """Return by code the modules that make it, by their path within the package."""
    paths = {p.stem: p.relative_to(PACKAGE).with_suffix("").as_posix() for p in sorted(PACKAGE.rglob("*.py"))}
    found = {code: {m for some in levels.values() for m in some} for code, levels in made().items()}
    return {code: sorted(f"`{paths.get(m, m)}`" for m in some) for code, some in found.items()}


def written(guide: str) -> str:
    """Return the guide with the block as it is now in the place of the old one."""
    before, _, rest = guide.partition(BEGIN)
    _, _, after = rest.partition(END)
    return f"{before}{table()}{after}"


if __name__ == "__main__":
    GUIDE.write_text(written(GUIDE.read_text("utf-8")), "utf-8")
