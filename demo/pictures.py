"""Drawings in place of photographs, with all that a phone would have written into them.

Each carries a place, a day, a device and a comment: a build must publish the picture and none of
these. One lies on its side, as phones store a picture held upright.
"""

import datetime as dt
import io
import math
from collections.abc import Sequence
from dataclasses import dataclass
from random import Random

from PIL import ExifTags, Image, ImageDraw
from PIL.PngImagePlugin import PngInfo

SIZE = (960, 1280)
HORIZON, FOOT = 0.74, 0.86  # of the height
SKY, HAZE = (214, 226, 232), (240, 238, 226)
MEADOW, NEAR_MEADOW = (176, 188, 132), (126, 146, 88)
BARK, BARK_DARK = (110, 92, 74), (70, 58, 48)
ROD = ((188, 66, 44), (246, 244, 236))
TAPE = (232, 200, 72)
LIES_ON_ITS_SIDE = 6  # Exif 2.32, tag Orientation: turn a quarter clockwise to see it upright

Colour = tuple[int, int, int]
Point = tuple[float, float]


@dataclass(frozen=True)
class Photo:
    """A drawing that stands for a photo: whose it is, and when and where it was taken."""

    file: str
    tree: str
    form: str  # round or tiered
    leaves: Colour
    taken: dt.datetime
    place: Point  # latitude and longitude
    consent: str
    credit: str


PHOTOS = (
    Photo(
        "IMG_0412.jpg", "S19", "round", (104, 138, 70),
        dt.datetime(2026, 5, 14, 10, 12), (45.31235, -71.44172), "yes", "Team Finch",
    ),
    Photo(
        "IMG_0437.jpg", "S36", "round", (128, 132, 66),
        dt.datetime(2026, 5, 15, 9, 40), (45.31230, -71.44083), "", "Team Swift",
    ),
    Photo(
        "G014 from the path.png", "G014", "tiered", (74, 112, 92),
        dt.datetime(2026, 4, 21, 14, 5), (45.31326, -71.43871), "yes", "",
    ),
)  # fmt: skip


def mixed(one: Colour, other: Colour, share: float) -> Colour:
    red, green, blue = (round(a + (b - a) * share) for a, b in zip(one, other, strict=True))
    return red, green, blue


def picture(photo: Photo, rng: Random) -> Image.Image:
    """The tree in its meadow, a tape round its stem and a rod of two metres beside it."""
    image = Image.new("RGB", SIZE)
    draw = ImageDraw.Draw(image)
    _ground(draw, rng)
    _stem(draw, rng, SIZE[1] * {"round": 0.30, "tiered": 0.05}[photo.form])
    {"round": _round_crown, "tiered": _tiered_crown}[photo.form](draw, rng, photo.leaves)
    return image


def _ground(draw: ImageDraw.ImageDraw, rng: Random) -> None:
    width, height = SIZE
    horizon = round(height * HORIZON)
    for y in range(height):
        below = (y - horizon) / (height - horizon)
        colour = mixed(SKY, HAZE, y / horizon) if y < horizon else mixed(MEADOW, NEAR_MEADOW, below)
        draw.line([(0, y), (width, y)], fill=colour)
    for x in range(-40, width, 34):  # the wood behind, in the haze
        top = horizon - 60 - 50 * rng.random()
        draw.ellipse([x, top, x + 90, horizon + 26], fill=mixed(MEADOW, HAZE, 0.35))
    for _ in range(900):
        x, depth = rng.random() * width, rng.random()
        y = horizon + 20 + depth * (height - horizon - 20)
        blade = 4 + 14 * depth
        draw.line([(x, y), (x + 3, y - blade)], fill=mixed(NEAR_MEADOW, MEADOW, rng.random()))


def _stem(draw: ImageDraw.ImageDraw, rng: Random, top: float) -> None:
    width, height = SIZE
    middle, foot = width / 2, height * FOOT
    flare = [(70, foot + 8), (48, foot - 40), (42, foot - 160), (30, height * 0.5), (6, top)]
    outline = [(middle - w, y) for w, y in flare] + [(middle + w, y) for w, y in reversed(flare)]
    draw.ellipse([middle - 150, foot - 16, middle + 190, foot + 30], fill=(104, 122, 74))
    draw.polygon(outline, fill=BARK)
    for _ in range(260):
        y = top + rng.random() * (foot - top - 20)
        half = 38 * ((y - top) / (foot - top)) ** 0.7
        x = middle + (2 * rng.random() - 1) * half
        shade = mixed(BARK, BARK_DARK, (x - middle + half) / (2 * half + 1))
        draw.line([(x, y), (x + 2 * rng.random(), y + 26)], fill=shade, width=3)
    breast = foot - 130
    draw.line([(middle - 43, breast), (middle + 43, breast + 3)], fill=TAPE, width=7)
    for part in range(8):
        y = foot - 25 * part
        draw.rectangle([middle + 128, y - 25, middle + 137, y], fill=ROD[part % 2])


def _round_crown(draw: ImageDraw.ImageDraw, rng: Random, leaves: Colour) -> None:
    """Clumps of leaves, the far and shaded ones first, lit from the upper left."""
    width, height = SIZE
    middle, centre = width / 2, height * 0.36
    for layer in range(40):
        lit = layer / 39
        for _ in range(70):
            angle, out = 2 * math.pi * rng.random(), rng.random() ** 0.5
            reach = 1 - 0.18 * math.sin(5 * angle) ** 2
            x = middle + out * reach * 380 * math.cos(angle) - 46 * (lit - 0.5)
            y = centre + out * reach * 350 * math.sin(angle) - 76 * (lit - 0.5)
            half = 9 + 12 * rng.random()
            colour = mixed(mixed(leaves, (36, 50, 30), 0.55), mixed(leaves, HAZE, 0.35), lit)
            draw.ellipse([x - half, y - half * 0.7, x + half, y + half * 0.7], fill=colour)


def _tiered_crown(draw: ImageDraw.ImageDraw, rng: Random, leaves: Colour) -> None:
    """Boughs in tiers, uneven as wind and snow leave them, their needles in flat tufts."""
    width, height = SIZE
    middle = width / 2
    for tier in range(17):
        y = height * (0.06 + 0.035 * tier)
        for side in (-1, 1):
            reach = (40 + 17 * tier) * (0.65 + 0.6 * rng.random())
            tip = y - 26 + 40 * rng.random()
            draw.line([(middle, y + 18), (middle + side * reach, tip)], fill=BARK_DARK, width=5)
            for _ in range(80):
                out = 0.15 + 0.9 * rng.random()
                x = middle + side * reach * out
                on = y + 18 + (tip - y - 18) * out - 14 * rng.random()
                shade, light = mixed(leaves, (26, 44, 40), 0.5), mixed(leaves, HAZE, 0.25)
                colour = mixed(shade, light, rng.random())
                half = 10 + 16 * rng.random()
                draw.ellipse([x - half, on - half * 0.3, x + half, on + half * 0.3], fill=colour)


def photo_bytes(photo: Photo, rng: Random) -> bytes:
    """The file as a phone would hand it in."""
    image = picture(photo, rng)
    tags = _tags(photo)
    saved = io.BytesIO()
    if photo.file.endswith(".png"):
        words = PngInfo()
        words.add_text("Comment", f"taken by {photo.credit or 'nobody in particular'}")
        # Few colours pack small, and a drawing has few.
        image.quantize(64).save(saved, "PNG", optimize=True, exif=tags, pnginfo=words)
    else:
        tags[ExifTags.Base.Orientation] = LIES_ON_ITS_SIDE
        sideways = image.transpose(Image.Transpose.ROTATE_90)
        sideways.save(saved, "JPEG", quality=70, exif=tags, comment=f"taken by {photo.credit}")
    return saved.getvalue()


def _tags(photo: Photo) -> Image.Exif:
    tags = Image.Exif()
    tags[ExifTags.Base.Make] = "Invented Phones"
    tags[ExifTags.Base.Artist] = photo.credit or "nobody in particular"
    taken = photo.taken.strftime("%Y:%m:%d %H:%M:%S")
    tags.get_ifd(ExifTags.IFD.Exif)[ExifTags.Base.DateTimeOriginal] = taken
    lat, lon = photo.place
    tags.get_ifd(ExifTags.IFD.GPSInfo).update(
        {
            ExifTags.GPS.GPSLatitudeRef: "N" if lat >= 0 else "S",
            ExifTags.GPS.GPSLatitude: _sexagesimal(lat),
            ExifTags.GPS.GPSLongitudeRef: "E" if lon >= 0 else "W",
            ExifTags.GPS.GPSLongitude: _sexagesimal(lon),
            ExifTags.GPS.GPSHPositioningError: 6.0,
        }
    )
    return tags


def _sexagesimal(degrees: float) -> Sequence[float]:
    minutes = abs(degrees) % 1 * 60
    return float(int(abs(degrees))), float(int(minutes)), round(minutes % 1 * 60, 3)
