"""A picture ready to stand inside a page."""

import re
from html import escape


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
