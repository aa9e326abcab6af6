"""The words of each field, shaped, with where their lines may break and what shape they make."""

from engrave.setting.text.break_opportunities import Stretch, stretches
from engrave.setting.text.fields import ShapedField, ShapedWord, line_pitch, shaped_fields
from engrave.setting.text.glyph_shapes import GlyphShape, glyph_shape, hull_of
from engrave.setting.text.silhouettes import Silhouette, silhouette

__all__ = [
    "GlyphShape", "ShapedField", "ShapedWord", "Silhouette", "Stretch", "glyph_shape", "hull_of", "line_pitch",
    "shaped_fields", "silhouette", "stretches",
]  # fmt: skip
