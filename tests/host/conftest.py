"""A board to talk to, and a profile for it, for the tests of commands."""

import pytest

from host.peer import PROFILE_TEXT, Peer, on_socket


@pytest.fixture
def peer():
    """The firmware's own link and controller, without a stack."""
    return Peer()


@pytest.fixture
def port(peer):
    """Where the board is."""
    with on_socket(peer) as name:
        yield name


@pytest.fixture
def profile(tmp_path):
    """A profile that the board takes."""
    path = tmp_path / "bend.toml"
    path.write_text(PROFILE_TEXT, encoding="utf-8")
    return path
