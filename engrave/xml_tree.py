"""XML text read within limits: levels and letters are counted while it is read, entities that make much of little too."""

from __future__ import annotations

from xml.etree import ElementTree

from engrave.limits import Limit


class XmlUnread(ValueError):
    """Text that is no XML, or goes beyond a limit; the message ends a sentence that begins with the file's name."""


class _Counted(ElementTree.TreeBuilder):
    """Builds a tree, counting its levels and letters."""

    def __init__(self, letters: Limit, levels: Limit) -> None:
        super().__init__()
        self._letters, self._levels = letters, levels
        self._count = self._level = 0

    def start(self, tag: str, attributes: dict[str, str]) -> ElementTree.Element:
        """Begin an element."""
        self._level += 1
        if self._levels.passed(self._level):
            raise XmlUnread(f"{self._levels.of}: {self._levels.told(self._level)}")
        self._add(len(tag) + sum(len(key) + len(value) for key, value in attributes.items()))
        return super().start(tag, attributes)

    def data(self, text: str) -> None:
        """Take text."""
        self._add(len(text))
        super().data(text)

    def end(self, tag: str) -> ElementTree.Element:
        """End an element."""
        self._level -= 1
        return super().end(tag)

    def _add(self, count: int) -> None:
        self._count += count
        if self._letters.passed(self._count):
            raise XmlUnread(f"{self._letters.of}: {self._letters.told()}")


def tree_of(data: bytes, letters: Limit, levels: Limit) -> ElementTree.Element:
    """Return the root of XML text. Raises XmlUnread when it is none, or goes beyond a limit."""
    try:
        return ElementTree.fromstring(data, ElementTree.XMLParser(target=_Counted(letters, levels)))
    except XmlUnread:
        raise
    except (ElementTree.ParseError, ValueError, LookupError) as error:  # the last two: encodings that it does not know
        raise XmlUnread(str(error)) from error
