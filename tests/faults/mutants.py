"""The firmware with one rule weakened at a time: what is changed, where, and who has to notice.

A mutant that nobody notices shows a rule without a test. Text that no longer stands in the firmware, or stands
there twice, is an error: the list has to follow the firmware.
"""

import ast
import re
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
FIRMWARE = ROOT / "firmware" / "ribwright_board"


class ListError(Exception):
    """The list and the firmware have parted."""


@dataclass(frozen=True)
class Mutant:
    """One weakened rule.

    file: below the firmware's package. old, new: the text that is there, exactly once, and what takes its
    place; old in the form "NAME =" is a constant at the start of a line, and new a factor of it; in the form
    "def NAME" it is a function, and new what it does before anything else, such as "return".
    what: which rule it weakens. faults: ids of the fault list that must notice. tests: files or nodes below
    tests/ that must. walk: the walk of the modes must. same: why it changes no behaviour, for one that
    cannot be noticed.
    """

    file: str
    old: str
    new: str
    what: str
    faults: tuple[str, ...] = ()
    tests: tuple[str, ...] = ()
    walk: bool = False
    same: str = ""

    @property
    def name(self) -> str:
        """File and change in one line."""
        old, new = (" ".join(text.split()) for text in (self.old, self.new))
        return f"{self.file}: {old} -> {new or 'nothing'}"


def applied(mutant: Mutant, text: str) -> str:
    """A file's text with the change made; raises ListError where the old text does not stand exactly once."""
    if mutant.old.endswith(" ="):
        pattern = re.compile(rf"^{mutant.old} ([^#\n]+?)( *#.*)?$", re.MULTILINE)
        found = pattern.findall(text)
        if len(found) != 1:
            raise ListError(f"{mutant.name}: this constant stands there {len(found)} times")
        return pattern.sub(lambda match: f"{mutant.old} ({match[1]}) * {mutant.new}", text)
    if re.fullmatch(r"def \w+", mutant.old):
        named = [
            node
            for node in ast.walk(ast.parse(text))
            if isinstance(node, ast.FunctionDef) and node.name == mutant.old[4:]
        ]
        if len(named) != 1:
            raise ListError(f"{mutant.name}: this function stands there {len(named)} times")
        first = named[0].body[1 if ast.get_docstring(named[0]) else 0]
        lines = text.split("\n")
        lines.insert(first.lineno - 1, " " * first.col_offset + mutant.new)
        return "\n".join(lines)
    if text.count(mutant.old) != 1:
        raise ListError(f"{mutant.name}: the old text stands there {text.count(mutant.old)} times")
    return text.replace(mutant.old, mutant.new)


def source(mutant: Mutant) -> str:
    """The changed text of a mutant's file; raises ListError as applied() does."""
    return applied(mutant, (FIRMWARE / mutant.file).read_text(encoding="utf-8"))


def row(
    file: str, tests: tuple[str, ...], old: str, new: str, what: str, *faults: str, walk: bool = False
) -> Mutant:
    """One changed text, its faults last."""
    return Mutant(file, old, new, what, faults, tests, walk)


def scaled(
    file: str, rows: str, tests: tuple[str, ...], faults: tuple[str, ...] = (), walk: str = ""
) -> list[Mutant]:
    """Thresholds, each made weaker by a factor.

    rows: a line each: name, factor, then ids of faults beside the common ones. walk: names, of which the walk
    of the modes is asked as well.
    """
    found = []
    for row in rows.strip().splitlines():
        constant, factor, *own = row.split()
        what = f"{constant} times {factor}"
        asked = constant in walk.split()
        found.append(Mutant(file, f"{constant} =", factor, what, (*faults, *own), tests, asked))
    return found


def everything() -> list[Mutant]:
    """The whole list."""
    from faults import mutants_guard, mutants_proof, mutants_rig

    return [*mutants_guard.MUTANTS, *mutants_proof.MUTANTS, *mutants_rig.MUTANTS]
