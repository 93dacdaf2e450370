"""What can go wrong, in words a maker can act on: what, where, what to do next."""

from __future__ import annotations


class RingloftError(Exception):
    """A fault the user can do something about.

    Args:
        what: what is wrong, a sentence without its full stop.
        where: the field, panel, ring or file concerned, if that helps.
        do: the next step, a sentence without its full stop.
    """

    def __init__(self, what: str, where: str = "", do: str = "") -> None:
        super().__init__(what, where, do)
        self.what = what
        self.where = where
        self.do = do

    def __str__(self) -> str:
        """One line: where, what and the next step."""
        lead = f"{self.where}: {self.what}" if self.where else self.what[:1].upper() + self.what[1:]
        text = f"{lead}. {self.do}." if self.do else f"{lead}."
        return " ".join(text.split())


class BadValue(RingloftError):
    """A number, unit or name that cannot be used."""


class BadOutline(RingloftError):
    """An outline that encloses no clear area."""


class RingTooTight(RingloftError):
    """A ring whose aspect ratio is below the weave's limit."""


class WireNeverYields(RingloftError):
    """A winding that springs back to straight wire."""


class FileTrouble(RingloftError):
    """A file that cannot be read or written."""
