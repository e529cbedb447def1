"""Letters drawn once and copied many times: what burn-ins are made of."""

import numpy as np
from PIL import Image, ImageDraw, ImageFont


def tile(
    text: str,
    size: float,
    *,
    ground: int,
    ink: int,
    advance: float | None = None,
    stretch: float = 1.0,
) -> np.ndarray:
    """`text` on its ground, luma only, rows by columns, both even. `size` is the em in pixels and `advance` a fixed
    width in ems, so that figures stand in columns; `stretch` narrows what will be shown wide."""
    font = ImageFont.load_default(size)
    wide = font.getlength(text)
    width, height = round(advance * size if advance else wide), round(size * 1.3)
    image = Image.new("L", (max(1, width), height), ground)
    ImageDraw.Draw(image).text(((width - wide) / 2, size * 0.08), text, fill=ink, font=font)
    even = max(2, round(width * stretch / 2) * 2), max(2, round(height / 2) * 2)
    return np.asarray(image.resize(even, Image.Resampling.LANCZOS))
