"""Reading one mapping with its bounds: the only way a file's value enters the firmware.

Every key is read together with its kind and its limits; a key that nobody read is a problem
of its own, so a misspelt key can never be ignored.
"""

import math

from .errors import Problem, shown
from .units import in_unit, in_unit_difference, number_text

TYPE_CHECKING = False
if TYPE_CHECKING:
    from .shapes import Place, TypeGuard, Values


def seen_text(value: object) -> str:
    """What was found, short enough for one line.

    value: anything a file can hold.
    """
    if value is True or value is False:
        return "true" if value else "false"
    if isinstance(value, str):
        return '"' + shown(value) + '"'
    if isinstance(value, (int, float)):
        return str(value)
    if isinstance(value, (list, tuple)):
        return "a list of %d" % len(value)
    if isinstance(value, dict):
        return "a table"
    return "nothing" if value is None else "a value of another kind"


def is_number(value: object) -> "TypeGuard[float]":
    """Whether a value is a finite number and not true or false.

    value: anything a file can hold.
    """
    if value is True or value is False or not isinstance(value, (int, float)):
        return False
    return -1e12 < value < 1e12 and not math.isnan(value)


class Table:
    """One table of a file, read key by key; problems are collected, not raised.

    values: the mapping. where: its place as a tuple. problems: list to add to.
    unit: "C" or "F" of the file, for temperatures.
    """

    def __init__(self, values: object, where: "Place", problems: list[Problem], unit: str) -> None:
        self.where = where
        self.problems = problems
        self.unit = unit
        self._read: list[str] = []
        if isinstance(values, dict):
            self.values: Values = values
        else:
            self.values = {}
            self.add("not_a_table", where, "is %s, it must be a table" % seen_text(values))

    def add(self, code: str, where: "Place", text: str) -> None:
        """Note one problem.

        code: stable short word. where: its place. text: what, limit, unit, next step.
        """
        self.problems.append(Problem(code, where, text))

    def has(self, key: str) -> bool:
        """Whether the file states a key; a null, as JSON may carry, states nothing.

        key: name in the table.
        """
        return self.values.get(key) is not None

    def take(self, key: str) -> object:
        """The raw value of a key, marked as read.

        key: name in the table.
        """
        self._read.append(key)
        return self.values.get(key)

    def _missing(self, key: str, required: bool, hint: str) -> None:
        if required:
            self.add("missing", self.where + (key,), "is not stated; add %s" % hint)

    def text(self, key: str, required: bool = True, longest: int = 60) -> str | None:
        """A line of text, or None.

        key: name. required: whether its absence is a problem. longest: characters.
        """
        value = self.take(key)
        place = self.where + (key,)
        if value is None:
            self._missing(key, required, '%s = "..."' % key)
        elif not isinstance(value, str):
            self.add("not_text", place, "is %s, it must be text in quotes" % seen_text(value))
        elif not value or len(value) > longest or not all(ord(letter) >= 32 for letter in value):
            self.add(
                "text",
                place,
                "is %s, allowed are 1 to %d characters on one line" % (seen_text(value), longest),
            )
        else:
            return value
        return None

    def choice(self, key: str, allowed: tuple[str, ...], required: bool = True) -> str | None:
        """One word out of a few, or None.

        key: name. allowed: the words. required: whether its absence is a problem.
        """
        value = self.take(key)
        words = ", ".join(['"' + word + '"' for word in allowed])
        if value is None:
            self._missing(key, required, "%s = one of %s" % (key, words))
        elif not isinstance(value, str) or value not in allowed:
            self.add("choice", self.where + (key,), "is %s, allowed are %s" % (seen_text(value), words))
        else:
            return value
        return None

    def number(
        self,
        key: str,
        low: float,
        high: float,
        unit: str,
        required: bool = True,
        whole: bool = False,
        advice: str = "change it",
    ) -> float | None:
        """A number within its limits, or None.

        key: name. low, high: limits, inclusive, in unit. unit: its word for people. required: whether its
        absence is a problem. whole: only integers. advice: the next step when it is out of range.
        """
        value = self.take(key)
        place = self.where + (key,)
        span = "%s to %s%s" % (number_text(low), number_text(high), " " + unit if unit else "")
        if value is None:
            self._missing(key, required, "a number, %s" % span)
        elif not is_number(value):
            self.add("not_a_number", place, "is %s, it must be a plain number, %s" % (seen_text(value), span))
        elif whole and not isinstance(value, int):
            self.add("not_whole", place, "is %s, it must be a whole number, %s" % (seen_text(value), span))
        elif not low <= value <= high:
            self.add("range", place, "is %s, allowed are %s; %s" % (number_text(value), span, advice))
        else:
            return value
        return None

    def temperature(
        self, key: str, low_c: float, high_c: float, required: bool = True, advice: str = "change it"
    ) -> float | None:
        """A point on the file's scale within limits given in Celsius; the file's own number, or None.

        key, required, advice: as number(). low_c, high_c: limits, C.
        """
        # A key with a doubled unit is one mistake, not a missing key besides.
        required = not self.refuse_unit_in_key(key) and required
        unit = self.unit
        return self.number(key, in_unit(low_c, unit), in_unit(high_c, unit), unit, required, False, advice)

    def difference(self, key: str, low_k: float, high_k: float, per: str = "") -> float | None:
        """A difference of temperatures, or a rate of one, within limits given in kelvin, or None.

        key: name. low_k, high_k: limits, K. per: "" or "per min" for people.
        """
        self.refuse_unit_in_key(key)
        unit = self.unit
        word = "degrees " + unit + (" " + per if per else "")
        low, high = in_unit_difference(low_k, unit), in_unit_difference(high_k, unit)
        return self.number(key, low, high, word, False)

    def refuse_unit_in_key(self, key: str) -> bool:
        """Note a key that states the unit a second time, such as target_f beside unit = "C"; whether it does.

        key: the right name, without unit.
        """
        found = False
        for suffix in ("_c", "_f", "_k", "_C", "_F"):
            doubled = key + suffix
            if doubled in self.values:
                found = True
                self._read.append(doubled)
                self.add(
                    "doubled_unit",
                    self.where + (doubled,),
                    'states a unit again; the file says unit = "%s" once, write %s' % (self.unit, key),
                )
        return found

    def words(self, key: str, most: int, longest: int = 60) -> list[str]:
        """A list of short texts, empty when absent or wrong.

        key: name. most: how many at most. longest: characters of each.
        """
        value = self.take(key)
        place = self.where + (key,)
        if value is None:
            return []
        if not isinstance(value, (list, tuple)) or not value or len(value) > most:
            self.add("list", place, "is %s, it must be a list of 1 to %d texts" % (seen_text(value), most))
            return []
        for i in range(len(value)):
            word = value[i]
            one_line = isinstance(word, str) and all(ord(letter) >= 32 for letter in word)
            if not one_line or not 1 <= len(word) <= longest:
                self.add(
                    "text",
                    place + (i,),
                    "is %s, allowed is text of 1 to %d characters on one line" % (seen_text(word), longest),
                )
                return []
        return list(value)

    def finish(self) -> None:
        """Note every key that nobody read."""
        for key in self.values:
            if key not in self._read:
                near = _nearest(key, self._read)
                hint = "; did you mean %s?" % near if near else "; remove it"
                self.add("unknown_key", self.where + (key,), "is not a key of this table" + hint)


def _nearest(key: str, known: list[str]) -> str:
    """The known key that shares most letters in order with a misspelt one, or ""."""
    best, best_score = "", 0.0
    for word in known:
        at, same = 0, 0
        for letter in key:
            found = word.find(letter, at)
            if found >= 0:
                same += 1
                at = found + 1
        score = 2.0 * same / (len(key) + len(word))
        if score > best_score:
            best, best_score = word, score
    return best if best_score >= 0.7 else ""


def check_head(values: object, schema: int, problems: list[Problem]) -> str:
    """Check schema and unit, which decide how everything else is read; return the unit.

    values: the whole mapping. schema: the number this firmware reads. problems: list to add to.
    Returns "C", "F", or "" when nothing more can be read.
    """
    if not isinstance(values, dict) or not values:
        problems.append(Problem("empty", (), "holds nothing; start from the one that `ribwright new` writes"))
        return ""
    if values.get("schema") != schema or values.get("schema") is True:
        found = values.get("schema")
        text = (
            "is not stated; add schema = %d" % schema
            if found is None
            else "is %s, this version reads %d; update the file or Ribwright" % (seen_text(found), schema)
        )
        problems.append(Problem("schema", ("schema",), text))
        return ""
    unit = values.get("unit")
    if unit is None:
        problems.append(Problem("missing_unit", ("unit",), 'is not stated; add unit = "C" or unit = "F"'))
        return ""
    if not isinstance(unit, str) or unit not in ("C", "F"):
        code = "doubled_unit" if isinstance(unit, (list, tuple)) else "unit"
        problems.append(Problem(code, ("unit",), 'is %s, allowed is one of "C", "F"' % seen_text(unit)))
        return ""
    return unit
