"""What every page of ours has: templates that escape each name, commands set apart, pictures within."""

import re
from html import escape
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from jinja2.filters import FILTERS

TEMPLATES = Path(__file__).parent / "templates"


def page_templates() -> Environment:
    """The templates of all pages: strict, with every name escaped and each command in letters of its own."""
    return Environment(
        autoescape=True,
        undefined=StrictUndefined,
        loader=FileSystemLoader(TEMPLATES),
        trim_blocks=True,
        finalize=set_apart,
    )


def set_apart(value: object) -> object:
    """A text for a page, with what stands between two backticks as code; anything else as it is.

    value: what a template shows; no text of it becomes HTML.

    >>> str(set_apart("a < b: `ribwright fit`"))
    'a &lt; b: <code>ribwright fit</code>'
    """
    if not isinstance(value, str) or hasattr(value, "__html__") or "`" not in value:
        return value
    return FILTERS["safe"](re.sub("`([^`]+)`", r"<code>\1</code>", escape(value)))


def inline_svg(svg: str, title: str) -> str:
    """SVG ready to stand inside HTML: no prolog, no namespaces or metadata (they hold addresses), named.

    svg: text of an SVG file. title: what the picture shows, plain text.
    """
    body = svg[svg.index("<svg") :]
    body = re.sub(r"<metadata>.*?</metadata>", "", body, count=1, flags=re.DOTALL)
    body = re.sub(r"<!--.*?-->", "", body, flags=re.DOTALL)
    body = re.sub(r'\sxmlns(:\w+)?="[^"]*"', "", body)
    body = re.sub(r'\s(width|height)="[^"]*pt"', "", body, count=2)
    label = escape(title)
    return body.replace("<svg", f'<svg role="img" aria-label="{label}"', 1)
