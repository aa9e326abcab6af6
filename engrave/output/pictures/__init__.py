"""Pictures: the lid in its wood, where a cut fails, what limits a size, what is on the shelf."""

from __future__ import annotations

from typing import TYPE_CHECKING

from engrave.on_use import loads_on_use

if TYPE_CHECKING:
    from engrave.output.pictures.failure_picture import failure_png
    from engrave.output.pictures.scenes import Scene, scene
    from engrave.output.pictures.shelf_picture import shelf_png

__all__ = ["Scene", "failure_png", "scene", "shelf_png"]

__getattr__ = loads_on_use(
    __name__,
    {
        "failure_picture": ("failure_png",),
        "scenes": ("Scene", "scene"),
        "shelf_picture": ("shelf_png",),
    },
)
