"""Messages of the link: what goes in comes out, and every damage is noticed and named."""

import binascii

from board.samples import Draws, refused
from ribwright_board.core import wire
from ribwright_board.core.errors import WireError


def sealed(body):
    """A line around any body, with a checksum that holds."""
    return body + b" " + wire.checksum(body) + b"\n"


def code_of(line):
    return refused(WireError, wire.decode, line).code


def test_checksum_gives_the_published_check_value():
    # Check value of CRC-32/ISO-HDLC over "123456789", catalogue of parametrised CRC algorithms (reveng).
    assert wire.checksum(b"123456789") == b"cbf43926"
    assert wire.checksum(b"") == b"00000000"


def test_message_comes_back_as_it_went():
    values = {
        "ms": 2400123,
        "mode": "running",
        "zones": [[1500, None, 333, 1]],
        "cue": None,
        "more": True,
        "text": "",
    }
    for kind in wire.KINDS:
        for seq in (0, 7, 65535):
            message = wire.decode(wire.encode(kind, seq, "status", values))
            assert (message.kind, message.seq, message.verb) == (kind, seq, "status")
            assert message.data == values


def test_line_is_one_line_with_its_parts_in_order():
    line = wire.encode("ask", 12, "status", {})
    assert line.startswith(b"ask 12 status {} ")
    assert line.endswith(b"\n")
    assert line.count(b"\n") == 1
    assert len(line.split(b" ")[-1].strip()) == 8


def test_text_with_spaces_quotes_and_letters_beyond_ascii_comes_back():
    for text in ('press "waist" on', "a  b", "Fichtenstr\u00e4nge", "\\", "\u6728", "tab\tand\nline"):
        line = wire.encode("tell", 1, "event", {"text": text})
        assert line.count(b"\n") == 1
        assert wire.decode(line).data == {"text": text}


def test_decoding_takes_any_line_end():
    line = wire.encode("ask", 1, "stop", {})[:-1]
    for end in (b"", b"\n", b"\r\n", b"\r"):
        assert wire.decode(line + end).verb == "stop"


def test_any_single_flipped_bit_is_noticed():
    line = wire.encode("ask", 12, "ready", {"profile": "ab12cd34ef56"})[:-1]
    for at in range(len(line)):
        for bit in range(8):
            damaged = bytearray(line)
            damaged[at] ^= 1 << bit
            assert code_of(bytes(damaged)) in ("shape", "crc")


def test_any_cut_line_is_noticed():
    line = wire.encode("ask", 12, "ready", {"profile": "ab12cd34ef56"})[:-1]
    for length in range(len(line)):
        assert code_of(line[:length]) in ("shape", "crc")


def test_wrong_checksum_is_damage():
    assert code_of(b"ask 1 stop {} 00000000") == "crc"
    good = wire.encode("ask", 1, "stop", {})[:-1]
    assert code_of(good[:-8] + good[-8:].upper()) == "crc"


def test_line_without_its_parts_has_no_shape():
    for body in (b"ask", b"ask 1", b"ask 1 stop"):
        assert code_of(sealed(body)) == "shape"
    for line in (b"", b"\n", b"hello", b"ask 1 stop {}", b"        "):
        assert code_of(line) == "shape"


def test_unknown_kind_is_named():
    assert code_of(sealed(b"ASK 1 stop {}")) == "kind"
    assert code_of(sealed(b"say 1 stop {}")) == "kind"


def test_sequence_must_be_plain_digits_up_to_65535():
    for text in (b"-1", b"65536", b"99999", b"1.0", b"+1", b"", b"1e3", b"000001", b"0x1"):
        assert code_of(sealed(b"ask " + text + b" stop {}")) == "sequence"
    assert wire.decode(sealed(b"ask 65535 stop {}")).seq == 65535


def test_values_must_be_a_readable_mapping():
    for text in (b"[]", b"5", b"null", b'"a"', b"{", b"{} {}", b"", b"{'a': 1}", b"\xff\xfe", b'{"a":nan}x'):
        assert code_of(sealed(b"ask 1 stop " + text)) == "json"


def test_values_are_utf8_and_nothing_else():
    # What a zero byte in second place would make of it: text in words of two bytes.
    for text in (b"{\x00}\x00", b'{"a": "\xff"}', b'{"a": "\xf8\x88\x80\x80\x80"}'):
        assert code_of(sealed(b"ask 1 stop " + text)) == "json"


def test_message_too_long_for_the_link_is_refused_by_the_sender():
    room = wire.MAX_LINE - len(wire.encode("ans", 1, "ok", {"text": ""}))
    assert len(wire.encode("ans", 1, "ok", {"text": "x" * room})) == wire.MAX_LINE
    assert refused(WireError, wire.encode, "ans", 1, "ok", {"text": "x" * (room + 1)}).code == "too_long"


def test_texts_are_cut_before_a_message_is_lost():
    line = wire.encode_shortened("ans", 1, "no", {"code": "range", "text": "x" * 3000, "ms": 5})
    assert len(line) <= wire.MAX_LINE
    data = wire.decode(line).data
    assert (data["code"], data["ms"]) == ("range", 5)
    assert len(data["text"]) >= 100
    line = wire.encode_shortened("ans", 1, "ok", {"profile": {"name": "\u6728" * 400}, "ms": 5})
    assert len(line) <= wire.MAX_LINE
    assert wire.decode(line).data["ms"] == 5


def test_message_without_texts_to_cut_is_refused():
    values = {"zones": [100000] * 100, "text": ""}
    assert refused(WireError, wire.encode_shortened, "ans", 1, "ok", values).code == "too_long"


def test_piece_of_a_transfer_fits_a_line():
    piece = binascii.b2a_base64(bytes(wire.PIECE_BYTES)).decode().strip()
    assert len(wire.encode("ask", 65535, "put_piece", {"at": 4294967295, "data": piece})) <= wire.MAX_LINE
    answer = {"at": 4294967295, "size": 4294967295, "data": piece}
    assert len(wire.encode("ans", 65535, "ok", answer)) <= wire.MAX_LINE


def test_reader_finds_the_same_lines_however_they_are_cut():
    stream = b"first\n\nsecond line\r\n\nthird\n"
    for cut in range(len(stream) + 1):
        reader = wire.LineReader()
        found = reader.feed(stream[:cut]) + reader.feed(stream[cut:])
        assert found == [b"first", b"second line\r", b"third"]
    reader = wire.LineReader()
    found = []
    for at in range(len(stream)):
        found += reader.feed(stream[at : at + 1])
    assert found == [b"first", b"second line\r", b"third"]
    assert reader.dropped == 0


def test_reader_waits_for_the_end_of_a_line():
    reader = wire.LineReader()
    assert reader.feed(b"half") == []
    assert reader.feed(b"") == []
    assert reader.feed(b" line\nnext") == [b"half line"]


def test_line_of_exactly_the_limit_is_kept_and_one_more_is_dropped():
    reader = wire.LineReader(8)
    assert reader.feed(b"12345678\n") == [b"12345678"]
    assert reader.feed(b"123456789\nafter\n") == [b"after"]
    assert reader.dropped == 1


def test_endless_line_costs_no_memory_and_is_counted_once():
    reader = wire.LineReader(8)
    for _ in range(100):
        assert reader.feed(b"garbage") == []
        assert len(reader._part) <= 8
    assert reader.dropped == 1
    assert reader.feed(b"\nback\n") == [b"back"]
    assert reader.dropped == 1


def test_garbage_never_becomes_a_message_and_never_hides_the_next():
    draws = Draws(20261125)
    good = wire.encode("ask", 9, "status", {})
    for _ in range(200):
        garbage = bytes([draws.below(256) for _ in range(draws.below(700))])
        reader = wire.LineReader()
        found = reader.feed(garbage + b"\n" + good)
        assert found[-1] + b"\n" == good
        for line in found[:-1]:
            assert code_of(line) in ("shape", "crc")
