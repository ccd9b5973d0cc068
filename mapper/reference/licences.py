"""The data licences that are known by a code, and what each asks of a reader."""

from dataclasses import dataclass

from mapper.language import say
from mapper.reference import rows


@dataclass(frozen=True)
class Licence:
    """A licence as it is printed: one in free words has no link and no rules that we know."""

    code: str
    name: str
    link: str = ""
    asks: str = ""
    taken_by_databases: bool = False

    @property
    def iri(self) -> str:
        """What a machine reads: the link, or the words where there is none."""
        return self.link or self.code


def licence_of(text: str) -> Licence:
    """The known licence of that code, however it is spelt, or the leader's own words."""
    for row in rows("licences"):
        if _key(row["code"]) == _key(text):
            taken = row["taken_by_databases"] == "yes"
            return Licence(row["code"], row["name"], row["link"], say(row["asks"]), taken)
    return Licence(text, text)


def full_codes(text: str) -> list[str]:
    """Known codes of which the text is only the beginning, as `CC BY` is of `CC-BY-4.0`."""
    key = _key(text)
    codes = [row["code"] for row in rows("licences")]
    if not key or key in map(_key, codes):
        return []
    return [code for code in codes if _key(code).rstrip("0123456789") == key]


def _key(text: str) -> str:
    return "".join(letter for letter in text.casefold() if letter.isalnum())
