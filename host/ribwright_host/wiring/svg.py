"""The drawing library's SVG, made smaller and fit to stand in a page or by itself."""

import re

# Narrower fonts may stand in for it; none of these is wider.
FONTS_SHOWN = "DejaVu Sans, Verdana, Helvetica, Arial, sans-serif"
THIN, NORMAL, THICK = 0.8, 1.2, 2.4
# Short names of the styles that nearly everything has, in the SVG.
STYLES = {
    "rwn": f"stroke:black;fill:none;stroke-width:{NORMAL};",
    "rwt": f"stroke:black;fill:none;stroke-width:{THIN};",
    "rwd": f"stroke:black;fill:black;stroke-width:{NORMAL};",
}
# What the library would take for markup, in places that no font has; put right in the finished SVG.
MARKUP = {ord(sign): 0xE000 + i for i, sign in enumerate("&<>$")}
WRITTEN = {0xE000 + i: text for i, text in enumerate(("&amp;", "&lt;", "&gt;", "$"))}


def tidy(svg: str) -> str:
    """Shorter numbers, our fonts, a white ground, no words that say nothing.

    svg: text as the drawing library writes it.
    """
    svg = re.sub(r"<[^>]*>", _shorter, svg).replace("stroke-dasharray:-;", "")
    svg = re.sub(
        r'(<text x="[^"]*" y=")([^"]*)("[^>]*>)<tspan [^>]*dy="([^"]*)">([^<]*)</tspan>', _on_its_line, svg
    )
    svg = svg.replace(' dominant-baseline="alphabetic"', "").replace(' text-anchor="start"', "")
    svg = re.sub(r' font-family="[^"]*"', "", svg)
    svg = svg.translate(WRITTEN).replace("stroke-linecap:round;stroke-linejoin:round;", "")
    for name, style in STYLES.items():
        svg = svg.replace(f'style="{style}"', f'class="{name}"')
    head, body = svg.split(">", 1)
    # The rounded ends of lines are inherited; what remains is the same few styles again and again.
    styles = "".join(f".{name}{{{style}}}" for name, style in STYLES.items())
    head += f' font-family="{FONTS_SHOWN}" stroke-linecap="round" stroke-linejoin="round">'
    left, top, wide, high = head.split('viewBox="')[1].split('"')[0].split()
    ground = f'<rect x="{left}" y="{top}" width="{wide}" height="{high}" fill="white"/>'
    return f"{head}<style>{styles}</style>{ground}" + body.replace("><", ">\n<") + "\n"


def _on_its_line(found: re.Match[str]) -> str:
    """A text without the library's inner span, at the height the span moved it to."""
    start, y, rest, down, words = found.groups()
    return f"{start}{float(y) + float(down):.1f}{rest}{words}"


def _shorter(found: re.Match[str]) -> str:
    """A tag whose numbers have one decimal; what is written on the drawing is in no tag."""
    return re.sub(r"-?\d+\.\d{2,}", lambda number: f"{float(number.group()):.1f}", found.group())
