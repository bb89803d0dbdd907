"""What the maker has changed about the stage that is on: its target, and how long it may last."""

TYPE_CHECKING = False
if TYPE_CHECKING:
    from .acts import Extension
    from .nudging import Nudge
    from .profile_values import Stage


class ByHand:
    """The changes to one run; both kept twice by what holds them.

    nudge: by how much the target is moved, K, or None. extension: by how much longer it may last, or None.
    """

    def __init__(self) -> None:
        self.nudge: Nudge | None = None
        self.extension: Extension | None = None

    def begin(self, before: "Stage | None", following: "list[Stage]") -> None:
        """Another stage begins.

        before: the one that ends, or None. following: the one that begins, or nothing.
        """
        if self.nudge is not None and not self.nudge.lasts(before, following):
            self.nudge = None
        if self.extension is not None:
            self.extension.begin()

    def whole(self) -> bool:
        """Whether nothing of it has changed by itself."""
        nudge, extension = self.nudge, self.extension
        return (nudge is None or nudge.whole()) and (extension is None or extension.whole())

    def moved_k(self) -> float:
        """By how much the present target is moved, K."""
        return 0.0 if self.nudge is None else self.nudge.value

    def more_ms(self) -> int:
        """By how much longer the present stage may last."""
        return 0 if self.extension is None else self.extension.stage_ms()
