"""Heat that is answered, yet weakly again and again, and gets a reading no further."""

# So many weak answers in a row with less progress than this, and the next doubt says that the zone is too
# weak for what is asked of it.
WEAK_ANSWERS = 4
AGAIN_K = 8.0


class WeakRow:
    """Weak answers of one zone, one after the other.

    progress_k: since the first of them, as it was when a doubt was counted last.
    """

    def __init__(self) -> None:
        self.progress_k = 0.0
        self._count = 0
        self._from_c = 0.0

    def clear(self) -> None:
        """A deliberate change, or an arrival: what was before it counts no more."""
        self._count = 0

    def answered(self, weakly: bool) -> None:
        """A doubt has ended by an answer; weakly: one that is only just enough."""
        self._count = self._count + 1 if weakly else 0

    def doubted(self, onset_c: float) -> bool:
        """One doubt more; whether it is one too many.

        onset_c: where the reading stood when it began, C.
        """
        if self._count == 0 or onset_c > self._from_c + AGAIN_K:
            self._count = 0
            self._from_c = onset_c
        self.progress_k = onset_c - self._from_c
        return self._count >= WEAK_ANSWERS
