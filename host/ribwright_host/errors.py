"""Everything a command can end with: one line for people, one exit code for programs."""

from collections.abc import Mapping
from typing import Any, ClassVar

# The one table of exit codes; `ribwright --help` prints it and the README repeats it.
EXIT_CODES: tuple[tuple[int, str], ...] = (
    (0, "done"),
    (2, "the command line does not fit the command"),
    (3, "a file is missing, unreadable or wrong"),
    (4, "no board answers"),
    (5, "the port belongs to another program"),
    (6, "board and computer carry different versions"),
    (7, "the board understood and refused"),
    (8, "the link was lost on the way"),
    (9, "the run ended by a shutdown"),
    (10, "the virtual rig did not start"),
    (11, "a step of proving the rig was not passed"),
    (12, "no plan keeps every heat limit"),
    (70, "a mistake in Ribwright itself"),
    (130, "ended from the keyboard"),
)


class HostError(Exception):
    """Base of the host's errors.

    seen: what was seen, the limit, the unit and the place, as one sentence without a full stop.
    hint: the next step.
    where: places for programs, such as {"file": ..., "line": ...}.
    """

    exit_code: ClassVar[int] = 70
    code: str = "mistake"

    def __init__(
        self, seen: str, hint: str, *, code: str | None = None, where: Mapping[str, Any] | None = None
    ) -> None:
        super().__init__(seen)
        self.seen = seen
        self.hint = hint
        self.code = code or type(self).code
        self.where: dict[str, Any] = dict(where or {})

    def __reduce__(self) -> tuple[Any, ...]:
        """Go from a helping process to this one whole: hint, code and places with it."""
        return type(self).__new__, (type(self), *self.args), vars(self)

    def line(self) -> str:
        """The whole error in one line."""
        text = f"{self.code}: {self.seen}; {self.hint}" if self.hint else f"{self.code}: {self.seen}"
        return " ".join(text.split())

    def as_json(self) -> dict[str, Any]:
        """The same for a program."""
        return {
            "error": self.code,
            "seen": self.seen,
            "next": self.hint,
            "exit_code": self.exit_code,
            **self.where,
        }


class UsageError(HostError):
    """The command line asks for something that cannot be."""

    exit_code = 2
    code = "usage"


class FileError(HostError):
    """A file is missing, unreadable or wrong."""

    exit_code = 3
    code = "file"


class NoBoardError(HostError):
    """Nothing answers where a board was expected."""

    exit_code = 4
    code = "no_board"


class PortBusyError(HostError):
    """Another program holds the port, or this user may not open it."""

    exit_code = 5
    code = "port_busy"


class VersionMismatchError(HostError):
    """Board and computer do not carry the same version."""

    exit_code = 6
    code = "version"


class RefusedByBoardError(HostError):
    """The board understood a request and will not carry it out."""

    exit_code = 7
    code = "refused"


class LinkLostError(HostError):
    """The link broke after the board had answered."""

    exit_code = 8
    code = "link_lost"


class TrippedError(HostError):
    """The run that was watched ended by a trip."""

    exit_code = 9
    code = "trip"


class VirtualRigError(HostError):
    """The virtual rig did not start."""

    exit_code = 10
    code = "virtual_rig"


class NotProvedError(HostError):
    """A step of proving the rig was not passed."""

    exit_code = 11
    code = "not_passed"


class NoPlanError(HostError):
    """A heat limit stands against every plan that was tried."""

    exit_code = 12
    code = "no_plan"
