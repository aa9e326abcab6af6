"""Draw Withy anew from its tables: `python tests/tools/draw_withy.py`.

Reads fonts_open/withy/source/*.toml and writes withy.svg and specimen.png beside them. Look at the specimen before
committing.
"""

from __future__ import annotations

import sys
from pathlib import Path

from PIL import Image
from withy.building import HOME, build
from withy.specimen import draw


def main(folder: Path = HOME) -> None:
    """Build the typeface in a folder and write its file and its specimen."""
    typeface = build(folder)
    (folder / f"{typeface.font['id']}.svg").write_text(typeface.svg(), encoding="utf-8", newline="\n")
    picture = draw(typeface).quantize(64, dither=Image.Dither.NONE)  # two colours and their edges: a small file
    picture.save(folder / "specimen.png", optimize=True)
    shown = sum(len(char) == 1 for char in typeface.glyphs)
    print(f"{typeface.font['title']}: {shown} characters, {len(typeface.kerning)} kerning rules", file=sys.stderr)


if __name__ == "__main__":
    main(*map(Path, sys.argv[1:2]))
