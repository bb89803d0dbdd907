"""An error that ends a helping process says here what it said there."""

import pickle

import pytest

from ribwright_host.errors import FileError, HostError, VirtualRigError


@pytest.mark.parametrize("kind", [HostError, FileError, VirtualRigError])
def test_error_comes_from_another_process_whole(kind):
    error = kind("seen 3 C, the limit is 2 C", "look there", code="odd", where={"file": "rig.toml"})
    other = pickle.loads(pickle.dumps(error))  # noqa: S301 - made one line above
    assert type(other) is kind
    assert (other.line(), other.as_json(), other.args) == (error.line(), error.as_json(), error.args)
