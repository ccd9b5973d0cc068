"""One photograph: when and where it was taken, and its picture without anything else."""

import datetime as dt
import io
import math
import warnings
import zipfile
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from mapper.errors import InputError

if TYPE_CHECKING:
    from PIL.Image import Image

# The content decides, not the ending: phones send HEIC under the name of a JPEG.
FORMATS = ("JPEG", "PNG", "HEIF")
TURNED = (5, 6, 7, 8)  # Exif 2.32, tag Orientation: width and height change places
TALLEST = 4  # times its width: a stitched panorama, not a tower of pixels
FIRST_YEAR = 1995  # Exif is of that year: what says earlier is a clock that was never set


# A photo lies in a folder, or in the archive that a phone handed over.
PhotoFile = Path | zipfile.Path


class PhotoError(InputError):
    """A file that holds no picture we can use."""


class PhotoTags(NamedTuple):
    """What a camera wrote beside the picture."""

    taken: dt.date | None
    lat: float
    lon: float
    accuracy_m: float


@contextmanager
def opened(file: PhotoFile) -> Iterator["Image"]:
    """The picture of a file, decoded when it is used.

    Raises
    ------
    PhotoError
        When the file is damaged, cut short, unpacks to a monster, or is no picture at all.
    """
    from PIL import Image
    from pillow_heif import register_heif_opener

    register_heif_opener()
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # damaged tags; the picture may be whole
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            with file.open("rb") as stream, Image.open(stream, formats=FORMATS) as photo:
                yield photo
    except (Image.DecompressionBombWarning, Image.DecompressionBombError) as error:
        most = (Image.MAX_IMAGE_PIXELS or 0) // 1_000_000
        raise PhotoError(
            f"{file}: unpacks to more than {most} million pixels. Save it smaller."
        ) from error
    except Exception as error:  # decoders of damaged bytes raise nearly anything
        raise PhotoError(
            f"{file}: not a picture that can be read: damaged, cut short, or another kind of "
            "file. Hand in the original as JPEG, PNG or HEIC."
        ) from error


def read_tags(file: PhotoFile) -> PhotoTags:
    """Day, place and its accuracy as the camera wrote them; None and NaN where it did not.

    Raises
    ------
    PhotoError
        When the file holds no picture.
    """
    from PIL import ExifTags

    with opened(file) as photo:
        tags = photo.getexif()
        taken = tags.get_ifd(ExifTags.IFD.Exif).get(ExifTags.Base.DateTimeOriginal)
        place = tags.get_ifd(ExifTags.IFD.GPSInfo)
        lat = _degrees(place, ExifTags.GPS.GPSLatitude, ExifTags.GPS.GPSLatitudeRef, "S")
        lon = _degrees(place, ExifTags.GPS.GPSLongitude, ExifTags.GPS.GPSLongitudeRef, "W")
        accuracy_m = _number(place.get(ExifTags.GPS.GPSHPositioningError))
    known = abs(lat) <= 90 and abs(lon) <= 180 and (lat, lon) != (0, 0)  # 0, 0: no fix
    if not known:
        return PhotoTags(_day(taken), math.nan, math.nan, math.nan)
    return PhotoTags(_day(taken), lat, lon, accuracy_m if accuracy_m > 0 else math.nan)


def _day(text: object) -> dt.date | None:
    try:
        day = dt.datetime.strptime(str(text)[:10], "%Y:%m:%d").date()
    except ValueError:
        return None
    return day if day.year >= FIRST_YEAR else None


def _degrees(place: Mapping[int, Any], tag: int, side_tag: int, minus: str) -> float:
    """Degrees, minutes and seconds as one number, to a tenth of a millimetre; NaN if broken."""
    parts = place.get(tag)
    if not isinstance(parts, tuple) or len(parts) != 3:
        return math.nan
    degrees, minutes, seconds = map(_number, parts)
    side = str(place.get(side_tag, "")).strip("\0 ").upper()
    whole = degrees + minutes / 60 + seconds / 3600
    return round(-whole if side == minus else whole, 9)


def _number(value: object) -> float:
    try:
        number = float(value)  # type: ignore[arg-type]
    except (TypeError, ValueError, ZeroDivisionError):
        return math.nan
    return number if math.isfinite(number) else math.nan


def refuse_damaged(file: PhotoFile) -> None:
    """Raise PhotoError unless the whole picture can be decoded."""
    with opened(file) as photo:
        photo.draft("L", (1, 1))  # a JPEG cut short shows at an eighth of its size, too
        photo.load()


def redrawn(file: PhotoFile, widths: Sequence[int]) -> tuple["Image", ...]:
    """The picture upright in sRGB at some widths, widest first, with nothing beside its pixels.

    A picture is never enlarged: of widths beyond its own, one remains, at its own.

    Raises
    ------
    PhotoError
        When it cannot be decoded.
    """
    from PIL import ExifTags, Image, ImageOps

    widest = max(widths)
    with opened(file) as photo:
        turned = photo.getexif().get(ExifTags.Base.Orientation, 1) in TURNED
        box = (widest, widest * TALLEST)
        photo.thumbnail(box[::-1] if turned else box, reducing_gap=1.5)
        upright = _in_srgb(ImageOps.exif_transpose(photo))
        # A new picture from the pixels alone: comments and profiles have nothing to hang on.
        clean = Image.new("RGB", upright.size)
        clean.paste(upright)
    smaller = sorted({width for width in widths if width < clean.width}, reverse=True)
    sizes = [(width, max(1, round(clean.height * width / clean.width))) for width in smaller]
    return clean, *(clean.resize(size, reducing_gap=3.0) for size in sizes)


def _in_srgb(photo: "Image") -> "Image":
    from PIL import Image, ImageCms

    profile = photo.info.get("icc_profile")
    if photo.has_transparency_data:
        paper = Image.new("RGBA", photo.size, "white")
        photo = Image.alpha_composite(paper, photo.convert("RGBA"))
    if photo.mode not in ("RGB", "L", "CMYK"):
        photo = photo.convert("RGB")
    if profile:
        try:
            source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
            target = ImageCms.createProfile("sRGB")
            made = ImageCms.profileToProfile(photo, source, target, outputMode="RGB")
            photo = made or photo
        except (OSError, ImageCms.PyCMSError):
            pass  # a damaged profile, or one for other inks: the plain colours are near enough
    return photo.convert("RGB")
