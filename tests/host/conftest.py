"""A board at a port and a profile for it, for tests of commands."""

import pytest

from host.peer import PROFILE_TEXT, Peer, on_socket


@pytest.fixture
def peer():
    """The firmware's own link service, seen from inside."""
    return Peer()


@pytest.fixture
def port(peer):
    """The port at which it answers."""
    with on_socket(peer) as name:
        yield name


@pytest.fixture
def profile(tmp_path):
    """A profile's file that this board can hold."""
    path = tmp_path / "bend.toml"
    path.write_text(PROFILE_TEXT, encoding="utf-8")
    return path
