"""Text in whichever of the usual encodings, and in two at once where files were put together."""

import codecs
from pathlib import Path

from mapper.errors import InputError
from mapper.load.records import Remark

REST = "groveplat-cp1252"  # the error handler's name among the codecs
SHOWN = 5


def read_text(file: Path) -> tuple[str, tuple[Remark, ...]]:
    """The text of a file, and a remark where it is written in two encodings.

    Raises
    ------
    InputError
        When it is no text in UTF-8, UTF-16 or cp1252.
    """
    return _decoded(file, file.read_bytes())


def read_utf8(file: Path) -> tuple[bytes, tuple[Remark, ...]]:
    """The same in UTF-8, without its mark; plain text, the usual case, is not gone through twice.

    Raises
    ------
    InputError
        As read_text.
    """
    raw = file.read_bytes()
    if raw.isascii() and b"\0" not in raw:
        return raw, ()
    text, remarks = _decoded(file, raw)
    return text.encode(), remarks


def _decoded(file: Path, raw: bytes) -> tuple[str, tuple[Remark, ...]]:
    marked = raw.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE))
    remarks: tuple[Remark, ...] = ()
    try:
        text = raw.decode("utf-16" if marked else "utf-8-sig")
    except UnicodeDecodeError as error:
        text, remarks = ("\0", ()) if marked else _two_encodings(file, raw, error)
    if "\0" in text:
        raise InputError(_unreadable(file))
    return text, remarks


def _two_encodings(
    file: Path, raw: bytes, error: UnicodeDecodeError
) -> tuple[str, tuple[Remark, ...]]:
    """Not all of it is UTF-8: what is not is cp1252, and perhaps all of it is."""
    codecs.register_error(REST, _as_cp1252)
    try:
        text = raw.decode("utf-8-sig", errors=REST)
    except UnicodeDecodeError:
        raise InputError(_unreadable(file)) from error
    whole = raw.decode("cp1252", errors="replace")
    if text == whole:
        return text, ()
    lines = zip(text.splitlines(), whole.splitlines(), strict=False)
    numbers = [number for number, (one, other) in enumerate(lines, start=1) if one != other]
    listed = ", ".join(map(str, numbers[:SHOWN])) + (" and more" if numbers[SHOWN:] else "")
    reason = (
        f"The file is written in two ways: line {listed} in UTF-8, others in cp1252. "
        "Each was read in its own. Look at the letters with accents, and save it as CSV UTF-8."
    )
    return text, (Remark("mixed_encodings", "warning", reason),)


def _as_cp1252(error: UnicodeError) -> tuple[str, int]:
    """The letters of bytes that are no UTF-8."""
    if not isinstance(error, UnicodeDecodeError):
        raise error
    return error.object[error.start : error.end].decode("cp1252"), error.end


def _unreadable(file: Path) -> str:
    return f"{file}: cannot be read as text in UTF-8, UTF-16 or cp1252. Save it again as CSV UTF-8."
