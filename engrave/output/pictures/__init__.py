"""Pictures in pixels: the lid in its wood, where a cut fails, what limits a size, what is on the shelf."""

from __future__ import annotations

from engrave.output.pictures.failure_picture import failure_png
from engrave.output.pictures.scenes import Scene, scene
from engrave.output.pictures.shelf_picture import shelf_png

__all__ = ["Scene", "failure_png", "scene", "shelf_png"]
