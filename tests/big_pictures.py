"""Small invented pictures: shapes on a ground that changes from top to bottom, the same for the same draws."""

from __future__ import annotations

from pathlib import Path
from random import Random

from PIL import Image, ImageDraw


def write_picture(path: Path, rng: Random) -> None:
    """Write a JPEG or PNG picture, 500 to 1100 pixels wide, as the file's name says."""
    width = rng.randint(500, 1100)
    height = width * 2 // 3
    ground = Image.linear_gradient("L").resize((width, height))
    picture = Image.composite(Image.new("RGB", ground.size, _colour(rng)), Image.new("RGB", ground.size), ground)
    draw = ImageDraw.Draw(picture)
    for _ in range(rng.randint(6, 30)):
        left, top = rng.randrange(width), rng.randrange(height)
        corners = (left, top, left + rng.randint(20, width // 3), top + rng.randint(20, height // 3))
        rng.choice((draw.ellipse, draw.rectangle))(corners, fill=_colour(rng))
    path.parent.mkdir(parents=True, exist_ok=True)
    picture.save(path, **({"quality": 80} if path.suffix == ".jpg" else {}))


def _colour(rng: Random) -> tuple[int, int, int]:
    return rng.randint(20, 235), rng.randint(20, 235), rng.randint(20, 235)
