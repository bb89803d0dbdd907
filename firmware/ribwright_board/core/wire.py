"""Link messages: one a line, readable in a terminal, checked by a CRC.

A line is ``kind sequence verb json crc`` and a line feed:

    ask 12 status {} 5d0c4b1e

kind is ask (host to board), ans (the board's one answer, with the sequence number of the
ask) or tell (board to host, unasked). The CRC-32 covers every byte before the last space.
Bytes in, values out: nothing here reads or writes a port.
"""

import binascii
import json

from .errors import WireError

TYPE_CHECKING = False
if TYPE_CHECKING:
    from .shapes import Values

PROTOCOL = 1
MAX_LINE = 512
PIECE_BYTES = 240
KINDS = ("ask", "ans", "tell")
SEQUENCE_MODULO = 65536


class Message:
    """One message.

    kind: "ask", "ans" or "tell".
    seq: sequence number, 0 to 65535.
    verb: what is asked, answered or told.
    data: mapping of JSON values.
    """

    def __init__(self, kind: str, seq: int, verb: str, data: "Values") -> None:
        self.kind = kind
        self.seq = seq
        self.verb = verb
        self.data = data


def checksum(body: bytes) -> bytes:
    """CRC-32 of a line's body as eight lowercase hexadecimal digits.

    body: the bytes before the last space. The polynomial is that of IEEE 802.3; its published
    check value is the one below (catalogue of parametrised CRC algorithms, CRC-32/ISO-HDLC).

    >>> checksum(b"123456789") == b"cbf43926"
    True
    """
    return b"%08x" % (binascii.crc32(body) & 0xFFFFFFFF)


def encode(kind: str, seq: int, verb: str, data: "Values") -> bytes:
    """The bytes of one message, line feed included.

    kind: "ask", "ans" or "tell". seq: 0 to 65535. verb: one word. data: mapping of JSON values.
    Raises WireError with code too_long when the line would pass MAX_LINE bytes.
    """
    body = (kind + " " + str(seq) + " " + verb + " " + json.dumps(data)).encode()
    line = body + b" " + checksum(body) + b"\n"
    if len(line) > MAX_LINE:
        raise WireError("too_long", "message of %d bytes, the link takes %d" % (len(line), MAX_LINE))
    return line


def encode_shortened(kind: str, seq: int, verb: str, data: "Values") -> bytes:
    """As encode(), with the longest texts of the mapping cut until the line fits.

    kind, seq, verb: as encode(). data: mapping; its texts, also one level down, may be cut in place.
    Raises WireError with code too_long when no text is left to cut.
    """
    while True:
        try:
            return encode(kind, seq, verb, data)
        except WireError:
            tables = [data] + [value for value in data.values() if isinstance(value, dict)]
            texts = [(len(t[key]), key, t) for t in tables for key in t if isinstance(t[key], str)]
            length, key, table = max(texts, key=lambda text: text[0]) if texts else (0, "", data)
            if length == 0:
                raise
            table[key] = table[key][: length // 2]


def decode(line: bytes) -> Message:
    """The message in one line.

    line: bytes with or without the line end.
    Raises WireError: shape (not five parts), crc (damaged), kind, sequence or json (a sender's fault).
    """
    text = bytes(line)
    while text and text[-1] in b"\r\n":
        text = text[:-1]
    cut = text.rfind(b" ")
    if cut < 0 or len(text) - cut != 9:
        raise WireError("shape", "line has no checksum")
    body = text[:cut]
    if checksum(body) != text[cut + 1 :]:
        raise WireError("crc", "line is damaged: its checksum does not match")
    parts = body.split(b" ", 3)
    if len(parts) != 4:
        raise WireError("shape", "line has %d parts, it needs 4 before the checksum" % len(parts))
    try:
        kind = parts[0].decode()
        verb = parts[2].decode()
        # Decoded here: given bytes, one interpreter takes them for UTF-16 or lets half a letter pass.
        data = json.loads(parts[3].decode())
    except (ValueError, UnicodeError, RuntimeError):
        # Nested too deeply is a RuntimeError.
        raise WireError("json", "line carries no readable values") from None
    if kind not in KINDS:
        raise WireError("kind", "line is neither ask, ans nor tell")
    # A number that is not plain digits, or a value that is no mapping, never passes a check.
    digits = parts[1]
    if not 1 <= len(digits) <= 5 or not all(48 <= digit <= 57 for digit in digits):
        raise WireError("sequence", "sequence number is not a number from 0 to 65535")
    seq = int(digits)
    if seq >= SEQUENCE_MODULO:
        raise WireError("sequence", "sequence number is not a number from 0 to 65535")
    if not isinstance(data, dict):
        raise WireError("json", "values of a line must be a mapping")
    return Message(kind, seq, verb, data)


class LineReader:
    """Cuts a stream of bytes into lines, with a bounded buffer.

    limit: longest line kept, bytes. Longer ones are dropped whole and counted in `dropped`.
    """

    def __init__(self, limit: int = MAX_LINE) -> None:
        self.limit = limit
        self.dropped = 0
        self._part = bytearray()
        self._skipping = False

    def feed(self, data: bytes) -> list[bytes]:
        """Complete lines found so far, without their line ends.

        data: the next bytes of the stream, in pieces of any size.
        """
        lines: list[bytes] = []
        start = 0
        while True:
            end = data.find(b"\n", start)
            piece = data[start:] if end < 0 else data[start:end]
            if not self._skipping and len(self._part) + len(piece) > self.limit:
                self._skipping = True
                self.dropped += 1
                self._part = bytearray()
            if not self._skipping:
                self._part.extend(piece)
            if end < 0:
                return lines
            if not self._skipping and len(self._part):
                lines.append(bytes(self._part))
            self._part = bytearray()
            self._skipping = False
            start = end + 1
