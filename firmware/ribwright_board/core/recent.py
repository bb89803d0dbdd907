"""The last three quarters of a minute of one reading, a mean a second."""

SPAN = 46


class Recent:
    """Seconds of one reading, the oldest overwritten.

    count: seconds since the last break.
    """

    def __init__(self) -> None:
        self.count = 0
        self._means_c = [0.0] * SPAN

    def clear(self) -> None:
        """A break: what comes next is not compared with what was."""
        self.count = 0

    def add(self, mean_c: float) -> float:
        """Take one second's mean, C; the rise over the second before, K."""
        rise_k = mean_c - self.ago_c(0) if self.count else 0.0
        self._means_c[self.count % SPAN] = mean_c
        self.count += 1
        return rise_k

    def ago_c(self, seconds: int) -> float:
        """Mean of a second that has been, C; 0 is the last one.

        seconds: fewer than both count and SPAN.
        """
        return self._means_c[(self.count - 1 - seconds) % SPAN]

    def rise_k(self, seconds: int) -> float:
        """Rise over the last seconds, K."""
        return self.ago_c(0) - self.ago_c(seconds)
