"""A PDF file that is written object by object: of each object that is written only its place is kept.

What it writes is what ISO 32000-1 calls object streams (7.5.7) and a cross-reference stream (7.5.8).
"""

import zlib
from array import array
from typing import BinaryIO

#: Readers unpack a whole object stream for one of its objects.
OBJECTS_IN_A_STREAM = 200
_PLAIN, _IN_STREAM = 1, 2


class PdfFile:
    """Writes numbered objects in any order; numbers are reserved first, so that objects can refer to later ones."""

    def __init__(self, file: BinaryIO) -> None:
        self._file = file
        self._kinds, self._places, self._indices = array("B", [0]), array("Q", [0]), array("H", [65535])
        self._waiting: list[tuple[int, bytes]] = []
        # The second line says that bytes beyond ASCII follow (7.5.2).
        file.write(b"%PDF-1.7\n%\xc2\xb5\xc2\xb6\n")

    def reserve(self) -> int:
        """The number of an object that is still to be written."""
        self._kinds.append(0)
        self._places.append(0)
        self._indices.append(0)
        return len(self._kinds) - 1

    def write(self, number: int, data: bytes) -> None:
        """Write an object that is no stream."""
        self._waiting.append((number, data))
        if len(self._waiting) == OBJECTS_IN_A_STREAM:
            self._flush()

    def write_stream(self, number: int, data: bytes) -> None:
        """Write a stream: its dictionary, and from the word “stream” on what is in it."""
        self._kinds[number], self._places[number] = _PLAIN, self._file.tell()
        self._file.write(b"%d 0 obj\n%b\nendobj\n" % (number, data))

    def add(self, data: bytes) -> int:
        """Write an object that is no stream; return its number."""
        number = self.reserve()
        self.write(number, data)
        return number

    def add_stream(self, content: bytes, keys: bytes = b"") -> int:
        """Write a stream, compressed; return its number.

        Args:
            content: what is in it.
            keys: further entries of its dictionary.
        """
        number = self.reserve()
        self.write_stream(number, _stream(content, keys))
        return number

    def close(self, root: int, info: int) -> None:
        """Write what is needed to find the objects.

        Args:
            root: the number of the catalogue.
            info: the number of the document information.
        """
        self._flush()
        number = self.reserve()
        place = self._file.tell()
        self._kinds[number], self._places[number] = _PLAIN, place
        rows = b"".join(
            kind.to_bytes() + place.to_bytes(5) + index.to_bytes(2)
            for kind, place, index in zip(self._kinds, self._places, self._indices, strict=True)
        )
        keys = b"/Type/XRef/W[1 5 2]/Size %d/Root %d 0 R/Info %d 0 R" % (len(self._kinds), root, info)
        self.write_stream(number, _stream(rows, keys))
        self._file.write(b"startxref\n%d\n%%%%EOF\n" % place)

    def _flush(self) -> None:
        if not self._waiting:
            return
        waiting, self._waiting = self._waiting, []
        holder = self.reserve()
        starts, position = [], 0
        for index, (number, data) in enumerate(waiting):
            self._kinds[number], self._places[number], self._indices[number] = _IN_STREAM, holder, index
            starts.append(b"%d %d" % (number, position))
            position += len(data) + 1
        first = b" ".join(starts) + b"\n"
        keys = b"/Type/ObjStm/N %d/First %d" % (len(waiting), len(first))
        self.write_stream(holder, _stream(first + b"\n".join(data for _, data in waiting), keys))


def _stream(content: bytes, keys: bytes) -> bytes:
    packed = zlib.compress(content)
    return b"<<%b/Filter/FlateDecode/Length %d>>\nstream\n%b\nendstream" % (keys, len(packed), packed)
