"""The maker's presence and the longest time of heat: nobody leaves a hot rig alone by mistake."""

PROMPT_MS = 600000
GRACE_MS = 120000
SESSION_MS = 7200000


class Attend:
    """Counts time in which heat may flow; it stands still while the rig is off.

    asked: the maker has been asked and has not answered yet. limit_ms: the time that ended the heat.
    """

    def __init__(self) -> None:
        self.asked = False
        self.limit_ms = 0
        self._alone_ms = 0
        self._heat_ms = 0

    def touch(self) -> bool:
        """A press at the rig; says whether it answered a question."""
        self._alone_ms = 0
        asked, self.asked = self.asked, False
        return asked

    def step(self, dt_ms: int) -> str:
        """What the time says: "", "presence" to ask now, "unattended" or "session_over" to end the heat.

        dt_ms: time with heat allowed since the last step.
        """
        self._alone_ms += dt_ms
        self._heat_ms += dt_ms
        if self._heat_ms >= SESSION_MS:
            self.limit_ms = SESSION_MS
            return "session_over"
        if self._alone_ms >= PROMPT_MS + GRACE_MS:
            self.limit_ms = PROMPT_MS + GRACE_MS
            return "unattended"
        if self._alone_ms >= PROMPT_MS and not self.asked:
            self.asked = True
            return "presence"
        return ""
