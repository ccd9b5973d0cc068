"""What is whole in a hand-over of a phone whose end was lost on the way."""

import io
import struct
import zipfile
import zlib
from dataclasses import dataclass
from pathlib import Path

from mapper.errors import InputError

FIRST_MEMBER = "outing-records.csv"  # the outing page writes it first: it is the last to be lost
TABLE = ".csv"
LOCAL = struct.Struct("<4s5H3I2H")  # APPNOTE 4.3.7: the header before each member
SIGNATURE = b"PK\x03\x04"
STORED = 0


@dataclass(frozen=True)
class Salvage:
    """An archive of what is whole, and how much of which table was cut."""

    archive: zipfile.ZipFile
    whole: int
    cut: str


def is_hand_over(file: Path) -> bool:
    """Whether a file begins as the outing page begins its own."""
    with file.open("rb") as stream:
        start = stream.read(LOCAL.size + len(FIRST_MEMBER))
    return start.startswith(SIGNATURE) and start[LOCAL.size :] == FIRST_MEMBER.encode()


def salvaged(file: Path) -> Salvage:
    """Every whole member of a cut archive, and the whole lines of a table that was cut.

    Raises
    ------
    InputError
        When not even one line below the headings is whole.
    """
    content = file.read_bytes()
    kept = io.BytesIO()
    whole, cut, at = 0, "", 0
    with zipfile.ZipFile(kept, "w") as archive:
        while content[at : at + 4] == SIGNATURE and at + LOCAL.size <= len(content):
            member = _member(content, at)
            if member is None:
                break
            name, body, size, crc = member
            if len(body) == size and zlib.crc32(body) == crc:
                archive.writestr(name, body)
                whole += 1
            elif name.endswith(TABLE):
                lines = body[: body.rfind(b"\n") + 1]
                archive.writestr(name, lines)
                records = max(lines.count(b"\n") - 1, 0)
                cut = f"{name} after {records} whole records"
            at += LOCAL.size + len(name.encode()) + size
    rest = zipfile.ZipFile(kept)
    if not rest.namelist() or rest.read(FIRST_MEMBER).count(b"\n") < 2:
        rest.close()
        raise InputError(f"{file}: was cut off, and no record in it is whole. Hand it over again.")
    return Salvage(rest, whole, cut)


def _member(content: bytes, at: int) -> tuple[str, bytes, int, int] | None:
    """Name, bytes as far as they go, size and check sum; None where the header itself is cut."""
    _, _, _, method, _, _, crc, size, _, name_length, extra = LOCAL.unpack_from(content, at)
    start = at + LOCAL.size + name_length + extra
    if method != STORED or start > len(content):
        return None
    name = content[at + LOCAL.size : start - extra].decode("utf-8", "replace")
    return name, content[start : start + size], size, crc
