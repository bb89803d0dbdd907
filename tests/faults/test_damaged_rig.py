"""A rig's file in which one bit has changed is no rig: nothing is heated by a limit that came by itself."""

import json

import pytest

from board.samples import rig_mapping
from ribwright_board.drivers.store import Store
from ribwright_host.payload import rig_json
from ribwright_host.rigs import rig_hash

RIG = rig_mapping()
WHOLE = rig_json(RIG)


@pytest.fixture
def read(tmp_path, monkeypatch):
    """Puts a rig's file on an empty flash and reads it as the board does."""
    monkeypatch.chdir(tmp_path)
    store = Store()

    def put(body):
        (tmp_path / "rig.json").write_bytes(body)
        return store.rig()

    return put


def test_board_reads_the_rig_and_the_hash_it_was_given(read):
    assert read(WHOLE) == (RIG, rig_hash(RIG))


@pytest.mark.parametrize("mask", [0x01, 0x04, 0x80])
def test_a_flipped_bit_anywhere_is_found(read, mask):
    taken = []
    for at in range(len(WHOLE)):
        try:
            read(WHOLE[:at] + bytes((WHOLE[at] ^ mask,)) + WHOLE[at + 1 :])
        except ValueError:
            continue
        taken.append(at)
    assert taken == []


@pytest.mark.parametrize("body", [b"", b"{}", WHOLE[:-20], json.dumps({"rig": RIG, "hash": "0"}).encode()])
def test_what_is_cut_short_or_has_no_checksum_is_refused(read, body):
    with pytest.raises(ValueError, match=r"rig\.json is damaged; flash the rig again"):
        read(body)
