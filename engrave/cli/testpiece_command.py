"""`engrave testpiece`: what can this cutter do in this wood?"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import click

from engrave import verbs
from engrave.cli.command_options import common
from engrave.making import environment


@click.command("testpiece")
@click.argument("figures", nargs=-1)
@click.option("--cutter", required=True, help="Which bit or beam; see 'engrave shelf cutters'.")
@click.option("--wood", required=True, help="Which wood; see 'engrave shelf woods'.")
@click.option("--svg", type=click.Path(dir_okay=False, path_type=Path), help="Write the piece to be cut here.")
@click.option("--sheet", type=click.Path(dir_okay=False, path_type=Path), help="Write the sheet to print here (PDF).")
@click.option("--record", is_flag=True, help="Keep FIGURES in the shop's own recipes: along=0.3 across=0.5 ... (mm).")
@common
def command(
    figures: tuple[str, ...], cutter: str, wood: str, svg: Path | None, sheet: Path | None, record: bool,
    shop: Path | None, as_json: bool,
) -> None:  # fmt: skip
    """What does this cutter really do in this wood? A test piece for a scrap, and its figures kept.

    \b
    Example:  engrave testpiece --cutter co2-tube --wood oak --svg piece.svg --sheet piece.pdf
              engrave testpiece --cutter co2-tube --wood oak --shop our_shop --record along=0.3 across=0.5 clean=0.4
    """
    if record == bool(svg or sheet) or bool(figures) != record:
        raise click.UsageError("give --svg or --sheet to write a test piece, or --record and figures to keep them")
    if record and shop is None:
        raise click.UsageError("--record needs --shop FOLDER: the figures go into the shop's own recipes.toml")
    if record and shop is not None:
        table, kept, _ = verbs.record_figures(cutter, wood, figures, shop)
        told: dict[str, Any] = {"table": str(table), "kept": str(kept) if kept else None}
        says = f"Kept in {table}: {', '.join(figures)} for {cutter} in {wood}." + (
            f" As it was: {kept}" if kept else ""
        )
    else:
        written = verbs.write_test_piece(cutter, wood, svg, sheet, environment(shop))
        told = {"written": [str(f) for f in written]}
        says = "Written: " + ", ".join(map(str, written))
    click.echo(json.dumps(told, ensure_ascii=False) if as_json else says)
