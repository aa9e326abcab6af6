"""The file a lid is cut from: written, checked against its normal form, and named by a code of what it holds."""

from __future__ import annotations

from typing import TYPE_CHECKING

from engrave.on_use import loads_on_use

if TYPE_CHECKING:
    from engrave.output.svg.lid_file import drawn_svg, lid_svg, outline_svg
    from engrave.output.svg.proof_codes import proof_code
    from engrave.output.svg.svg_check import check_svg

__all__ = ["check_svg", "drawn_svg", "lid_svg", "outline_svg", "proof_code"]

__getattr__ = loads_on_use(
    __name__,
    {
        "lid_file": (
            "drawn_svg",
            "lid_svg",
            "outline_svg",
        ),
        "proof_codes": ("proof_code",),
        "svg_check": ("check_svg",),
    },
)
