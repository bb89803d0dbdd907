"""Every message of the link: what may be asked, what is answered, what is told. One table for both sides.

A field is (name, kind, least, most): kind "whole" for a whole number, "text" with its length in characters,
"flag" for true or false, "any" for what is looked at where it is used; a kind that ends in "?" may be left
out. What the words mean is in LINK.md, which is written from this table.
"""

from .errors import RefusedError

TYPE_CHECKING = False
if TYPE_CHECKING:
    from .shapes import Any, Values

MOST = 2147483647
_RUN = ("run", "whole", 1, 99999)

# verb: fields of the ask, names in its answer.
ASKS = {
    "hello": (
        (("v", "whole", 0, 999), ("unix", "any?", 0, 0)),
        ("v", "zones", "unit", "board", "fw", "python", "rig", "rig_name"),
    ),
    "status": (
        (),
        (
            "ms",
            "mode",
            "run",
            "stage",
            "stages",
            "stage_kind",
            "zones",
            "mids",
            "waiting",
            "cue",
            "late_ms",
            "heap",
            "crc_errors",
            "profile",
            "trip",
            "refused",
            "interrupted",
        ),
    ),
    "trip": ((), ("text",)),
    "put_open": ((("kind", "text", 1, 16), ("size", "whole", 0, MOST), ("sha", "text", 64, 64)), ("at",)),
    "put_piece": ((("at", "whole", 0, MOST), ("data", "text", 0, 400)), ("at",)),
    "put_close": ((), ("name", "hash")),
    "ready": ((("profile", "text", 1, 64), ("stage", "whole?", 1, 24)), ("run", "stage")),
    "stop": ((), ("mode",)),
    "next": ((), ("mode",)),
    "pause": ((), ("mode",)),
    "nudge": ((("by_k", "whole", -10, 10),), ("mode", "target")),
    "extend": ((("minutes", "whole", 1, 30),), ("mode", "left_s")),
    "back_off": ((), ("mode", "stage")),
    "mark": ((("what", "text", 1, 16),), ("mode",)),
    "runs": ((("from", "whole?", 0, MOST),), ("runs", "more", "free")),
    "get": ((_RUN, ("at", "whole", 0, MOST)), ("at", "size", "data")),
    "pin": ((_RUN, ("pinned", "flag", 0, 1)), ("run", "pinned")),
    "counters": ((), ("counters", "offsets_k")),
    "to_prompt": ((), ("mode",)),
}

# What the board says unasked: names in each.
TELLS = {
    "row": ASKS["status"][1][:13],
    "event": ("ms", "code", "zone", "a", "b", "text", "mode"),
}


def _fits(value: "Any", kind: str, least: int, most: int) -> bool:
    if kind.startswith("whole"):
        return isinstance(value, int) and not isinstance(value, bool) and least <= value <= most
    if kind == "text":
        return isinstance(value, str) and least <= len(value) <= most
    return kind == "any?" or isinstance(value, bool)


def _wanted(kind: str, least: int, most: int) -> str:
    if kind.startswith("whole"):
        return "a whole number from %d to %d" % (least, most)
    if kind == "text":
        return "a text of %d to %d characters" % (least, most)
    return "true or false"


def check(verb: str, data: "Values") -> None:
    """See that an ask has what it needs, each value of its kind and within its bounds.

    verb: known or not. data: its values; further ones are passed over.
    Raises RefusedError: no_such_ask, or values with the field, what it is and what is needed.
    """
    if verb not in ASKS:
        raise RefusedError("no_such_ask", "this board does not know %s; update the older side" % verb)
    for name, kind, least, most in ASKS[verb][0]:
        if name not in data:
            if kind.endswith("?"):
                continue
            raise RefusedError("values", "%s lacks %s; update the older side" % (verb, name))
        if not _fits(data[name], kind, least, most):
            seen = str(data[name])[:40]
            text = "%s of %s is %s, it must be %s; update the older side"
            raise RefusedError("values", text % (name, verb, seen, _wanted(kind, least, most)))
