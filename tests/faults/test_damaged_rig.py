"""A rig's file in which one bit has changed is no rig: nothing is heated by a limit that came by itself."""

import hashlib
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


@pytest.fixture
def whole(tmp_path, monkeypatch):
    """Puts a rig's file and a profile on a flash; says whether the board finds both whole, in pieces."""
    monkeypatch.chdir(tmp_path)
    store = Store()
    store.put_profile(KEY, PROFILE)

    def put(rig=WHOLE, profile=PROFILE, key=KEY, wanted=None):
        (tmp_path / "rig.json").write_bytes(rig)
        (tmp_path / "profiles" / f"{KEY}.json").write_bytes(profile)
        return store.files_whole(key, wanted or rig_hash(RIG))

    return put


# Longer than a few pieces, and no multiple of one.
PROFILE = b'{"name":"' + b"sapele " * 211 + b'"}'
KEY = hashlib.sha256(PROFILE).hexdigest()[:12]


def test_both_files_are_whole_as_long_as_nothing_has_changed(whole):
    assert whole()
    assert not whole(wanted="0123456789ab")


@pytest.mark.parametrize("mask", [0x01, 0x80])
def test_a_flipped_bit_of_either_is_found_before_a_run(whole, mask):
    for at in range(len(WHOLE)):
        # The two signs that close the file stand behind its checksum.
        if at < len(WHOLE) - 2:
            assert not whole(rig=WHOLE[:at] + bytes((WHOLE[at] ^ mask,)) + WHOLE[at + 1 :]), at
    for at in range(len(PROFILE)):
        assert not whole(profile=PROFILE[:at] + bytes((PROFILE[at] ^ mask,)) + PROFILE[at + 1 :]), at


@pytest.mark.parametrize("cut", [0, 5, 40, 128, 129, len(WHOLE) - 20, len(WHOLE) - 3])
def test_a_file_that_is_cut_short_is_found_before_a_run(whole, cut):
    assert not whole(rig=WHOLE[:cut])
    assert not whole(profile=PROFILE[: cut % len(PROFILE)])


def test_a_file_that_is_gone_is_an_error_of_the_flash(whole):
    with pytest.raises(OSError, match="No such file"):
        whole(key="ab" * 6)
