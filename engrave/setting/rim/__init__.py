"""Words along the edge of a lid."""

from engrave.setting.rim.rim_bands import has_rim
from engrave.setting.rim.rim_layout import along_rim, rim_size

__all__ = ["along_rim", "has_rim", "rim_size"]
