"""What a stretch of fuzzing saw: frames by kind, what escaped, what changed, what was held."""

from __future__ import annotations

import traceback
from collections import Counter
from dataclasses import dataclass, field

FINDINGS_MOST = 20
SHOWN_BYTES = 700
# Findings that begin with the same letters are one.
ALIKE = 60


@dataclass
class Tally:
    """Sums of one or many stretches.

    frames: by kind. modes: frames by the mode or call they met. escaped: exceptions that nobody announced.
    changed: states changed by what may not change them. answers: answers by ok, no or error. bytes_most: most
    bytes held in buffers between two frames. bounds: buffers found beyond their bound. deep_checks: blocks
    compared byte for byte. cpu_s: of the processor. findings: the first of each kind, FINDINGS_MOST in all.
    seen: how often each kind of finding came.

    Of the methods: where: mode of the board, call of the link or kind of log. frame: what was sent, shown
    with the finding.
    """

    frames: Counter[str] = field(default_factory=Counter)
    modes: Counter[str] = field(default_factory=Counter)
    answers: Counter[str] = field(default_factory=Counter)
    escaped: int = 0
    changed: int = 0
    bounds: int = 0
    bytes_most: int = 0
    deep_checks: int = 0
    cpu_s: float = 0.0
    seen: Counter[str] = field(default_factory=Counter)
    findings: dict[str, str] = field(default_factory=dict)

    @property
    def total(self) -> int:
        """Frames in all."""
        return sum(self.frames.values())

    @property
    def wrong(self) -> int:
        """Everything that must be 0."""
        return self.escaped + self.changed + self.bounds

    def find(self, what: str, where: str, frame: object, kind: str = "") -> None:
        """Keep what was seen, the first of each kind.

        what: in words. kind: what makes two findings one, "" for the first ALIKE letters of the words.
        """
        known = kind or what[:ALIKE]
        self.seen[known] += 1
        if self.seen[known] == 1 and len(self.findings) < FINDINGS_MOST:
            self.findings[known] = f"{what} [{where}] {str(frame)[:SHOWN_BYTES]}"

    def escape(self, error: BaseException, where: str, frame: object) -> None:
        """An exception came out that may not.

        error: as it was caught.
        """
        self.escaped += 1
        last = traceback.extract_tb(error.__traceback__)[-1]
        kind = f"{type(error).__name__} in {last.name} of {last.filename.split('/')[-1]}, {where}"
        self.find(f"{kind}: {error}", where, frame, kind)

    def change(self, what: str, where: str, frame: object) -> None:
        """A state changed that may not.

        what: in words.
        """
        self.changed += 1
        self.find(what, where, frame)

    def hold(self, held: int, bound: int, where: str, frame: object) -> None:
        """So many bytes or things are held; it counts when they are more than there may be.

        held: how many. bound: how many there may be.
        """
        if held > bound:
            self.bounds += 1
            self.find(f"{held} are held, {bound} may be", where, frame)

    def add(self, other: Tally) -> None:
        """Take the sums of another stretch in; of bytes_most the larger one stays.

        other: its sums, left as they are.
        """
        self.frames += other.frames
        self.modes += other.modes
        self.answers += other.answers
        self.escaped += other.escaped
        self.changed += other.changed
        self.bounds += other.bounds
        self.bytes_most = max(self.bytes_most, other.bytes_most)
        self.deep_checks += other.deep_checks
        self.seen += other.seen
        self.cpu_s += other.cpu_s
        for kind, text in other.findings.items():
            if len(self.findings) < FINDINGS_MOST:
                self.findings.setdefault(kind, text)
