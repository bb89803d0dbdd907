"""A drawing as the two files it is written as: PNG to look at, SVG for pages."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from matplotlib.figure import Figure

PNG_DPI = 160


def save_both(figure: Figure, folder: Path, name: str) -> tuple[Path, Path]:
    """Write a drawing under a name; gives the paths of PNG and SVG, which hold no date.

    figure: drawn, its style still on. folder: existing. name: of both, without ending. Raises OSError.
    """
    png, svg = folder / f"{name}.png", folder / f"{name}.svg"
    figure.savefig(png, dpi=PNG_DPI, metadata={"Software": "Ribwright"})
    figure.savefig(svg, metadata={"Date": None, "Creator": "Ribwright"})
    return png, svg
