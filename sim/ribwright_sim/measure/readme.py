"""The README's table of figures, written from bench.json by `make bench`; what was never measured says so."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

BEGIN = "<!-- figures: written by `make bench` from build/bench.json -->"
END = "<!-- end of the figures -->"
NONE = "not measured"

# Key of bench.json, what it is, digits behind the point, unit, and the limit where there is one.
ROWS = (
    ("cli_start_help_ms", "start of the command, for `--help`", 0, "ms", "250 at most"),
    ("cli_start_check_ms", "start of the command, for a `check`", 0, "ms", "400 at most"),
    ("demo_run_wall_s", "the whole demo", 1, "s", "30 at most"),
    ("tune_wall_s", "`tune`, what is compiled being there", 1, "s", ""),
    ("rehearse_wall_s", "`rehearse`", 1, "s", ""),
    ("report_wall_s", "`report`", 1, "s", ""),
    ("plan_s_median", "`plan`, half of the pieces", 1, "s", ""),
    ("virtual_rig_realtime_factor", "the virtual rig over real time, two zones", 0, "times", "300 at least"),
    ("sim_full_run_ms", "one run of 40 minutes, every effect", 0, "ms CPU", ""),
    ("sim_batch_run_us", "one of many runs side by side", 0, "us CPU", ""),
    ("scaling_exponent_plants", "CPU time over plants: exponent", 2, "", ""),
    ("scaling_exponent_cells", "CPU time over cells: exponent", 2, "", ""),
    ("tick_board_ms", "longest tick, as a Pico would take", 1, "ms", "50 at most"),
    ("tick_flush_board_ms", "longest tick with a flush of the log", 0, "ms", "250 at most"),
    ("boot_to_safe_ms", "power on to all outputs off", 1, "ms", "50 at most"),
    (
        "heap_low_in_bend_bytes",
        "least free memory in a bend (380 kB here, half on a board)",
        0,
        "bytes",
        "98,304 at least",
    ),
    ("firmware_bytes", "the firmware on the flash", 0, "bytes", ""),
    ("erases_per_hour", "erases of the flash in an hour of heat", 0, "", ""),
    ("cut_losses", "losses in all cuts of power", 0, "", "0"),
    ("host_fault_worst_late_ms", "latest tick beside computers that behave badly", 0, "ms", ""),
    ("fetch_kb_per_s", "reading back a log", 0, "KB/s", ""),
    ("fuzz_exceptions", "exceptions in two million frames", 0, "", "0"),
    ("plans_ok", "plans that hold when tried again", 0, "", ""),
    ("plans_refused", "refusals that a search of a grid bears out", 0, "", ""),
    ("plans_wrong", "plans and refusals that do not hold", 0, "", "0"),
    ("book_list_s", "10,000 runs of a notebook listed", 2, "s", "0.3 at most"),
    ("book_compare_s", "all their pairs compared", 2, "s", "1 at most"),
    ("book_lost", "runs lost in 200 kills of a writer", 0, "", "0"),
    ("book_covered_least", "learned intervals of 90 %: least share that holds", 2, "", "0.9 at least"),
    ("page_latency_ms_p95", "row to pixels on the bench page, 95 %", 0, "ms", "200 at most"),
    ("page_worst_tick_late_ms", "latest tick beside 20 viewers", 0, "ms", "250 at most"),
)


def lines(figures: Mapping[str, object], before: Mapping[str, str] | None = None) -> list[str]:
    """The table in Markdown.

    Args:
        figures: of bench.json.
        before: what the table said by key, kept where nothing was measured now.
    """
    made = figures.get("machine")
    on = f", on {made['processor']}, {made['cores']} cores" if isinstance(made, Mapping) else ""
    found = [f"| what{on} | key | figure | limit |", "| --- | --- | ---: | --- |"]
    for key, what, digits, unit, limit in ROWS:
        value = figures.get(key)
        shown = (
            f"{value:,.{digits}f} {unit}".rstrip()
            if isinstance(value, (int, float))
            else (before or {}).get(key, NONE)
        )
        found.append(f"| {what} | `{key}` | {shown} | {limit} |")
    return found


def put(readme: Path, figures: Mapping[str, object]) -> None:
    """Write the table between its marks, everything else staying as it is.

    Args:
        readme: the file.
        figures: of bench.json.

    Raises ValueError where the marks are missing or stand the wrong way round.
    """
    text = readme.read_text(encoding="utf-8")
    head, begin, rest = text.partition(BEGIN)
    _, end, tail = rest.partition(END)
    if not begin or not end:
        raise ValueError(f"{readme}: no table of figures; it stands between '{BEGIN}' and '{END}'")
    cells = [line.split("|") for line in rest.partition(END)[0].splitlines()]
    before = {cell[2].strip(" `"): cell[3].strip() for cell in cells if len(cell) > 4}
    table = "\n".join(lines(figures, before))
    readme.write_text(f"{head}{BEGIN}\n{table}\n{END}{tail}", encoding="utf-8", newline="\n")
