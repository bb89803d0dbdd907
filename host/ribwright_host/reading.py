"""What is wrong with a file that was read, in words for whoever has it before them."""

import json


def why_wrong(error: Exception) -> str:
    """What stood in the way, in a few words.

    error: what reading a file of ours raised.

    >>> why_wrong(KeyError("zones"))
    'its JSON has no zones'
    """
    if isinstance(error, UnicodeDecodeError):
        return "it is not UTF-8 text"
    if isinstance(error, json.JSONDecodeError):
        return f"its JSON is damaged in line {error.lineno}"
    if isinstance(error, KeyError):
        return f"its JSON has no {error.args[0]}"
    if isinstance(error, ValueError):
        return " ".join(str(error).split())[:120]
    # A line that was cut, or a value of another kind than its place takes.
    return "a value is missing or of the wrong kind"
