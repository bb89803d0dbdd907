"""The table a reader gets, from the figures."""

from __future__ import annotations

from .contest import Book

PEERS = (
    ("solve_ivp", "scipy `solve_ivp`, fastest of BDF, LSODA, Radau"),
    ("cvode", "CVODE (scikit-sundae), compiled right side"),
    ("casadi", "CasADi cvodes, faster of interpreted and generated C"),
    ("fipy", "FiPy, backward Euler"),
)


def _number(value: object, digits: int = 0) -> str:
    return f"{value:,.{digits}f}" if isinstance(value, (int, float)) else "not measured"


def table(book: Book) -> str:
    """Two tables in Markdown: our times, and peers over our batch.

    Args:
        book: its figures; those that are missing or None say "not measured".
    """
    f = book.figures
    plants = _number(f.get("sim_batch_plants"))
    rows = (
        ("one run, compiled", _number(f.get("sim_run_ms"), 2), "ms"),
        (f"one of {plants} runs side by side, compiled", _number(f.get("sim_batch_run_us")), "us"),
        ("one run, numpy alone", _number(f.get("numpy_run_ms")), "ms"),
        (f"one of {plants} runs side by side, numpy alone", _number(f.get("numpy_batch_run_us")), "us"),
        (
            "the example rig, every effect, as the virtual rig steps it",
            _number(f.get("sim_full_run_ms")),
            "ms",
        ),
        ("the same, one of a batch, compiled", _number(f.get("sim_full_batch_run_us")), "us"),
        ("largest error against the fine reference", _number(f.get("sim_error_k"), 3), "K"),
        ("one cell, one step of a second, in the batch", _number(f.get("ns_per_cell_step"), 2), "ns"),
    )
    lines = ["| a 40-minute run, CPU time | figure |", "| --- | --- |"]
    lines += [f"| {what} | {figure} {unit} |" for what, figure, unit in rows]
    lines += [
        "",
        "| peer | times our batch's CPU time, best grid of each | both at 48 cells |",
        "| --- | --- | --- |",
    ]
    for key, label in PEERS:
        best, even = (_number(f.get(f"batch_vs_{key}_ratio{suffix}")) for suffix in ("", "_equal_grid"))
        lines.append(f"| {label} | {best} | {even} |")
    return "\n".join(lines) + "\n"
