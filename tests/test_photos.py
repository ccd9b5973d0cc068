"""A photo becomes a picture and nothing else: upright, in sRGB, small, without a word beside it."""

import io
import random
import struct
import zlib
from collections.abc import Callable
from pathlib import Path

import pytest
from PIL import Image, ImageCms
from PIL.PngImagePlugin import PngInfo

from mapper.line import survey_results
from mapper.load.photo_files import PhotoError, read_tags, redrawn, refuse_damaged
from mapper.render import build_site
from mapper.survey import read_survey

SECRET = b"Zanzibar"
# Upper left, upper right, lower left, lower right of the pictures that `put_photo` writes.
QUARTERS = [(200, 40, 40), (40, 160, 60), (40, 60, 190), (245, 245, 245)]
# Exif 2.32 (CIPA DC-008), tag Orientation: which side of the stored picture is the top, and which
# the left. What must be done to see it upright, in the words of the imaging library; from memory.
STORED = {
    1: None,
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_90,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_270,
}
Colours = list[tuple[int, ...]]


def corners(image: Image.Image) -> Colours:
    """The colours in the middles of the four quarters."""
    across, down = image.width // 4, image.height // 4
    return [image.getpixel((across * x, down * y)) for y in (1, 3) for x in (1, 3)]  # type: ignore[misc]


def alike(ours: Colours, wanted: Colours, within: int = 14) -> bool:
    pairs = zip(sum(ours, ()), sum(wanted, ()), strict=True)
    return all(abs(one - other) <= within for one, other in pairs)


def segments(data: bytes) -> list[int]:
    """The markers of a JPEG up to its first scan (ITU-T T.81, annex B)."""
    stream = io.BytesIO(data)
    assert stream.read(2) == b"\xff\xd8"
    markers = []
    while not markers or markers[-1] != 0xDA:
        sign, marker = stream.read(2)
        assert sign == 0xFF
        markers.append(marker)
        stream.seek(int.from_bytes(stream.read(2), "big") - 2, io.SEEK_CUR)
    return markers


def saved(image: Image.Image, file: Path, **options: object) -> Path:
    image.save(file, **options)  # type: ignore[arg-type]
    return file


@pytest.mark.parametrize("orientation", STORED)
def test_every_orientation_is_turned_upright(tmp_path: Path, orientation: int) -> None:
    image = Image.new("RGB", (2, 2))
    image.putdata(QUARTERS)
    upright = image.resize((640, 480), Image.Resampling.NEAREST)
    turn = STORED[orientation]
    tags = Image.Exif()
    tags[274] = orientation
    stored = upright.transpose(turn) if turn is not None else upright
    (large,) = redrawn(saved(stored, tmp_path / "a.jpg", exif=tags, quality=95), (1200,))
    assert large.size == (640, 480)
    assert alike(corners(large), QUARTERS)


@pytest.mark.parametrize("name", ["a.jpg", "a.png", "a.heic", "heic in truth.jpg"])
def test_each_format_gives_the_same_picture(
    tmp_path: Path, put_photo: Callable[..., Path], name: str
) -> None:
    file = put_photo(tmp_path / name, place=(45.25, -71.5))
    if name.startswith("heic"):
        file = put_photo(tmp_path / "x.heic", place=(45.25, -71.5)).rename(tmp_path / name)
    large, small = redrawn(file, (480, 600))
    assert [large.size, small.size] == [(600, 450), (480, 360)]
    assert alike(corners(small), QUARTERS)
    tags = read_tags(file)
    assert str(tags.taken) == "2026-05-03"
    assert (tags.lat, tags.lon, tags.accuracy_m) == (45.25, -71.5, 5.0)


def test_a_small_picture_is_not_enlarged(tmp_path: Path, put_photo: Callable[..., Path]) -> None:
    file = put_photo(tmp_path / "a.jpg", (300, 200))
    assert [picture.size for picture in redrawn(file, (480, 1200))] == [(300, 200)]


def planted(folder: Path) -> list[Path]:
    """One picture a format, with the secret in every place that the format has beside pixels."""
    image = Image.effect_noise((900, 600), 40).convert("RGB")
    tags = Image.Exif()
    tags[0x010E] = tags[0x013B] = tags[0x8298] = SECRET.decode()  # description, artist, copyright
    tags.get_ifd(0x8769)[0x927C] = SECRET  # maker's note
    tags.get_ifd(0x8825)[0x001C] = SECRET  # GPS area information
    xmp = b'<x:xmpmeta xmlns:x="adobe:ns:meta/"><!--' + SECRET + b"--></x:xmpmeta>"
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes() + SECRET
    words = PngInfo()
    words.add_text("Author", SECRET.decode())
    words.add_itxt("XML:com.adobe.xmp", xmp.decode())
    beside = {"exif": tags, "xmp": xmp, "icc_profile": profile}
    jpeg = saved(image, folder / "1.jpg", comment=SECRET, **beside)
    iptc = b"Photoshop 3.0\x008BIM\x04\x04\x00\x00" + struct.pack(">I", len(SECRET)) + SECRET
    whole = jpeg.read_bytes()
    marked = whole[:2] + b"\xff\xed" + struct.pack(">H", len(iptc) + 2) + iptc + whole[2:]
    jpeg.write_bytes(marked + SECRET)  # and behind the end, where phones put films
    from pillow_heif import register_heif_opener

    register_heif_opener()
    png = saved(image, folder / "2.png", exif=tags, icc_profile=profile, pnginfo=words)
    plain = saved(image, folder / "4.jpg", comment=SECRET)  # nothing to convert on the way
    return [jpeg, png, saved(image, folder / "3.heic", **beside), plain]


def test_nothing_beside_the_pixels_leaves_the_survey_folder(tmp_path: Path) -> None:
    folder = tmp_path / "home"
    (folder / "photos").mkdir(parents=True)
    originals = planted(folder / "photos")
    assert all(SECRET in file.read_bytes() for file in originals)
    table = "tree,girth_cm,photo,photo_consent,photo_credit\n" + "".join(
        f"{n},100,{file.name},yes,{SECRET.decode()}\n" for n, file in enumerate(originals)
    )
    (folder / "a.csv").write_text(table, "utf-8")
    (folder / "survey.toml").write_text('[records]\nfiles = ["*.csv"]\n', "utf-8")
    results = survey_results(read_survey([folder]))
    build_site(results, tmp_path / "site")
    published = sorted((tmp_path / "site" / "photos").iterdir())
    assert [file.name for file in published] == [
        f"{number}-{width}.jpg" for number in (1, 2, 3, 4) for width in (480, 900)
    ]
    for file in published:
        data = file.read_bytes()
        assert not [word for word in (SECRET, b"Exif", b"http", b"ICC_", b"8BIM") if word in data]
        # JFIF, tables, frame, scan: no application segment but JFIF's own, no comment.
        assert set(segments(data)) <= {0xE0, 0xDB, 0xC2, 0xC4, 0xDA}
        assert data.endswith(b"\xff\xd9")
        with Image.open(io.BytesIO(data)) as picture:
            assert not picture.getexif() and not picture.getxmp()
    for file in (tmp_path / "site").rglob("*"):
        assert not file.is_file() or SECRET not in file.read_bytes()
    build_site(results, tmp_path / "again")
    for file in published:
        assert file.read_bytes() == (tmp_path / "again" / "photos" / file.name).read_bytes()


def test_colours_of_another_profile_become_srgb(tmp_path: Path) -> None:
    """In a profile whose red and green are exchanged, a red pixel means green."""
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    names = {b"rXYZ": b"gXYZ", b"gXYZ": b"rXYZ"}
    exchanged = bytearray(profile)
    for at in range(132, 132 + 12 * struct.unpack(">I", profile[128:132])[0], 12):
        exchanged[at : at + 4] = names.get(profile[at : at + 4], profile[at : at + 4])
    red = Image.new("RGB", (64, 64), (200, 30, 30))
    (picture,) = redrawn(saved(red, tmp_path / "a.png", icc_profile=bytes(exchanged)), (480,))
    assert alike([picture.getpixel((9, 9))], [(30, 200, 30)])  # type: ignore[list-item]
    damaged = saved(red, tmp_path / "b.png", icc_profile=b"no profile")
    assert alike([redrawn(damaged, (480,))[0].getpixel((9, 9))], [(200, 30, 30)])  # type: ignore[list-item]


@pytest.mark.parametrize("mode", ["1", "L", "LA", "P", "RGBA", "CMYK"])
def test_every_kind_of_pixel_becomes_plain_colour(tmp_path: Path, mode: str) -> None:
    image = Image.new("RGBA", (40, 40), (255, 255, 255, 255))
    kept = image.convert("RGB").convert(mode) if mode not in ("LA", "RGBA") else image.convert(mode)
    ending = "jpg" if mode == "CMYK" else "png"
    (picture,) = redrawn(saved(kept, tmp_path / f"a.{ending}"), (480,))
    assert (picture.mode, picture.getpixel((5, 5))) == ("RGB", (255, 255, 255))


def test_what_is_seen_through_becomes_paper(tmp_path: Path) -> None:
    clear = saved(Image.new("RGBA", (40, 40), (0, 0, 0, 0)), tmp_path / "a.png")
    assert redrawn(clear, (480,))[0].getpixel((5, 5)) == (255, 255, 255)


def test_a_picture_on_its_side_is_measured_upright(
    tmp_path: Path, put_photo: Callable[..., Path]
) -> None:
    file = put_photo(tmp_path / "a.jpg", (1600, 800), orientation=6)
    assert [one.size for one in redrawn(file, (480, 600))] == [(600, 1200), (480, 960)]


def bomb(side: int) -> bytes:
    """A PNG of a few bytes that says how wide and high it is."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        whole = kind + data
        return struct.pack(">I", len(data)) + whole + struct.pack(">I", zlib.crc32(whole))

    head = struct.pack(">IIBBBBB", side, side, 8, 0, 0, 0, 0)
    body = chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(bytes(1000))) + chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + body


@pytest.mark.parametrize("side", [10_000, 30_000, 2_000_000_000])
def test_a_picture_bomb_is_refused_unopened(tmp_path: Path, side: int) -> None:
    file = tmp_path / "a.png"
    file.write_bytes(bomb(side))
    with pytest.raises(PhotoError, match=r"a\.png: unpacks to more than 89 million pixels"):
        read_tags(file)


@pytest.mark.parametrize("ending", ["jpg", "png", "heic"])
def test_a_picture_cut_short_is_noticed(
    tmp_path: Path, put_photo: Callable[..., Path], ending: str
) -> None:
    file = tmp_path / f"a.{ending}"
    noise = Image.effect_noise((900, 600), 80).convert("RGB")
    put_photo(file)
    saved(noise, file)
    refuse_damaged(file)
    file.write_bytes(file.read_bytes()[: file.stat().st_size * 2 // 3])
    with pytest.raises(PhotoError, match="damaged, cut short, or another kind of file"):
        refuse_damaged(file)
    with pytest.raises(PhotoError, match="Hand in the original"):
        redrawn(file, (480,))


@pytest.mark.parametrize(
    "data", [b"", b"tree,girth\n1,100\n", b"\xff\xd8\xff", b"GIF89a" + bytes(50)]
)
def test_what_is_no_picture_is_refused(tmp_path: Path, data: bytes) -> None:
    file = tmp_path / "a.jpg"
    file.write_bytes(data)
    with pytest.raises(PhotoError, match="not a picture that can be read"):
        read_tags(file)


@pytest.mark.parametrize("ending", ["jpg", "png", "heic"])
def test_damaged_bytes_raise_nothing_else(
    tmp_path: Path, put_photo: Callable[..., Path], ending: str
) -> None:
    """A thousand bytes changed at random, many of them in the tags: read, or refused in words."""
    file = put_photo(tmp_path / f"a.{ending}", (64, 48), place=(45.0, 7.0))
    whole, rng = file.read_bytes(), random.Random(4)
    outcomes = set()
    for _ in range(150):
        changed = bytearray(whole)
        for _ in range(rng.randint(1, 8)):
            changed[rng.randrange(min(len(changed), 900))] = rng.randrange(256)
        file.write_bytes(bytes(changed))
        try:
            read_tags(file)
            redrawn(file, (480,))
            outcomes.add("read")
        except PhotoError:
            outcomes.add("refused")
    assert outcomes == {"read", "refused"}


@pytest.mark.parametrize("clock", ["0000:00:00 00:00:00", "1970:01:01 00:00:00", "yesterday"])
def test_a_clock_never_set_says_nothing(
    tmp_path: Path, put_photo: Callable[..., Path], clock: str
) -> None:
    assert read_tags(put_photo(tmp_path / "a.jpg", taken=clock)).taken is None


def test_no_fix_is_no_place(tmp_path: Path, put_photo: Callable[..., Path]) -> None:
    for place in ((0.0, 0.0), (91.0, 7.0)):
        tags = read_tags(put_photo(tmp_path / "a.jpg", place=place))
        assert str((tags.lat, tags.lon, tags.accuracy_m)) == "(nan, nan, nan)"
