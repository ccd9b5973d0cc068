"""E-mail addresses, phone numbers, handles and links in what people wrote, and how to mask them."""

import re
from collections.abc import Callable, Iterable

import pandas as pd

EMAIL = r"[\w.+-]+(?:@|\s?[\[(]\s?at\s?[\])]\s?)[\w-]+(?:(?:\.|\s?[\[(]\s?dot\s?[\])]\s?)[\w-]+)+"
LINK = r"(?:https?://|www\.)\S+|(?<![\w.])(?:[\w-]+\.)+[a-z]{2,}/\S+"
HANDLE = r"(?<![\w@.])@[A-Za-z_][\w.]{1,30}"
PHONE = r"(?<![\w.,-])(?:\+|00)?\(?\d(?:[ ().\u00a0/-]{0,3}\d){6,14}(?![\w]|[.,]\d)"
CONTACTS = {
    "e-mail": re.compile(EMAIL, re.IGNORECASE),
    "link": re.compile(LINK, re.IGNORECASE),
    "handle": re.compile(HANDLE),
    "phone": re.compile(PHONE),
}
# A place that somebody wrote into a note or a column of their own.
PLACE = re.compile(
    r"[+-]?\d{1,3}(?:\.\d{3,}|,\d{4,})\s*°?\s*[NSEWO]?"
    r"|\d{1,3}\s*°\s*\d{1,2}(?:[.,]\d+)?\s*['′]?(?:\s*\d{1,2}(?:[.,]\d+)?\s*[\"″])?\s*[NSEWO]?"
    r"|(?<!\d)\d{5,7}(?:\.\d+)?\s*[,;/ ]\s*\d{6,7}(?:\.\d+)?(?!\d)"
    r"|(?<!\w)///\w+\.\w+\.\w+"
    r"|\b[23456789CFGHJMPQRVWX]{4,8}\+[23456789CFGHJMPQRVWX]{2,3}\b"
    r"|\b\d{1,2}[C-HJ-NP-X]\s?[A-HJ-NP-Z]{2}\s?\d{2,5}\s?\d{2,5}\b"
)
# Whether a text may hold any of these at all: quick, for the many that hold none.
WORTH_A_LOOK = r"@|[\[(] ?[aA][tT] ?[\])]|://|[wW]{3}\.|\.[a-z]+/|\d(?:\D{0,3}\d){6}"
DATE = re.compile(
    r"\d{4}[-./ ]\d{1,2}[-./ ]\d{1,2}|\d{1,2}[-./ ]\d{1,2}[-./ ](?:\d{4}|\d\d)"
    r"|(?:1[5-9]|20)\d\d ?[-/] ?(?:1[5-9]|20)\d\d"
)
DECIMALS = re.compile(r"[+-]?\d+\.\d+")
SHORTEST_NAME = 3


def contact_in(text: str) -> str:
    """The first kind of contact that a text holds, "" for none."""
    for kind, pattern in CONTACTS.items():
        if any(_is_meant(kind, found[0]) for found in pattern.finditer(text)):
            return kind
    return ""


def without_contacts(text: str) -> str:
    """The text with `[e-mail]`, `[link]`, `[handle]` and `[phone]` in place of each."""
    for kind, pattern in CONTACTS.items():
        text = pattern.sub(_mask(kind), text)
    return text


def masked(cells: "pd.Series[str]") -> "pd.Series[str]":
    """Cells without contacts."""
    return _by_spelling(cells, WORTH_A_LOOK, without_contacts)


def kinds_of_contact(cells: "pd.Series[str]") -> "pd.Series[str]":
    """What each cell holds: e-mail, link, handle, phone or ""."""
    worth = cells.where(cells.str.contains(WORTH_A_LOOK, regex=True), "")
    return _by_spelling(worth, WORTH_A_LOOK, contact_in)


def kinds_in_names(cells: "pd.Series[str]") -> "pd.Series[str]":
    """The same for names of trees and plots: a long number is a phone's only if written as one."""
    kinds = kinds_of_contact(cells)
    return kinds.where((kinds != "phone") | cells.str.contains(r"[+(]\d", regex=True), "")


def without_places_in(cells: "pd.Series[str]") -> "pd.Series[str]":
    """Cells with `[place]` in place of coordinates and place codes."""
    return _by_spelling(cells, r"\d|///", lambda text: PLACE.sub("[place]", text))


def without_names_in(cells: "pd.Series[str]", names: Iterable[str]) -> "pd.Series[str]":
    """Cells with `[name]` in place of the names of people, as they stand in the records."""
    known = sorted((name for name in names if len(name) >= SHORTEST_NAME), key=len, reverse=True)
    if not known:
        return cells
    words = "|".join(map(re.escape, known))
    pattern = re.compile(rf"(?<!\w)(?:{words})(?!\w)", re.IGNORECASE)
    return _by_spelling(cells, r"\w", lambda text: pattern.sub("[name]", text))


def with_distinct_masks(cells: "pd.Series[str]") -> "pd.Series[str]":
    """Names of trees and stands without contacts; two that differ stay two."""
    held = kinds_in_names(cells) != ""
    numbers = pd.Series(pd.factorize(cells[held])[0] + 1, index=cells.index[held])
    return cells.mask(held, "[withheld " + numbers.astype(str).reindex(cells.index) + "]")


def _mask(kind: str) -> Callable[[re.Match[str]], str]:
    return lambda found: f"[{kind}]" if _is_meant(kind, found[0]) else found[0]


def _is_meant(kind: str, text: str) -> bool:
    """A date, a span of years, or decimal numbers, are no phone number."""
    if kind != "phone":
        return True
    parts = re.split(r"[\s/]+", text.strip())
    return not DATE.fullmatch(text) and not all(DECIMALS.fullmatch(part) for part in parts)


def _by_spelling(
    cells: "pd.Series[str]", worth_a_look: str, change: Callable[[str], str]
) -> "pd.Series[str]":
    """Each different text changed once, and only where there may be something to change."""
    codes, spellings = pd.factorize(cells)
    texts = pd.Series(spellings, dtype=str)
    looked_at = texts.str.contains(worth_a_look, regex=True)
    changed = texts.mask(looked_at, texts[looked_at].map(change).reindex(texts.index))
    return pd.Series(changed.to_numpy()[codes], index=cells.index, dtype=str)


# Headings of a survey's own columns that speak of a place or of people, letters only.
PLACE_WORDS = (
    "lat", "latitude", "lon", "long", "lng", "longitude", "gps", "coord", "coordinate",
    "coordinates", "easting", "northing", "utm", "mgrs", "grid", "wgs", "wgs84", "position",
    "location", "place", "address", "street", "road", "house", "postcode", "zip", "what3words",
    "w3w", "pluscode", "geohash", "x", "y", "plot", "bearing", "azimuth",
)  # fmt: skip
PEOPLE_WORDS = (
    "name", "names", "first", "last", "surname", "family", "child", "children", "pupil", "student",
    "teacher", "parent", "mother", "father", "class", "school", "owner", "person", "people", "who",
    "team", "group", "email", "mail", "phone", "mobile", "tel", "telephone", "contact", "birthday",
    "birth", "age", "gender", "signature", "user", "username", "account", "login",
)  # fmt: skip


def tells_place(heading: str, cells: "pd.Series[str]") -> bool:
    """Whether a column of the survey's own speaks of places, by its heading or its cells."""
    filled = cells[cells != ""]
    coordinates = without_places_in(filled) != filled
    return _speaks_of(heading, PLACE_WORDS) or bool(coordinates.mean() > 0.5)


def tells_people(heading: str) -> bool:
    """Whether a column of the survey's own speaks of people, by its heading."""
    return _speaks_of(heading, PEOPLE_WORDS)


def _speaks_of(heading: str, words: tuple[str, ...]) -> bool:
    parts = re.findall(r"[a-z0-9]+", re.sub(r"([a-z])([A-Z])", r"\1 \2", heading).casefold())
    return any(part in words for part in [*parts, "".join(parts)])
