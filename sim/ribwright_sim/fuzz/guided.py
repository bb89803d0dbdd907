"""`python -m ribwright_sim.fuzz.guided FOLDER`: let coverage choose what both ends of the link are fed.

Needs atheris, which comes as a wheel for Linux on x86_64. Inputs are described in inputs.py; CORPUS holds the
ones to begin with. What escapes is kept in FOLDER and ends the run with exit code 1.
"""

from __future__ import annotations

import argparse
import importlib
import json
import re
import subprocess
import sys
import time
from collections.abc import Sequence
from importlib.util import find_spec
from pathlib import Path

from .watching import watch

# Optional, and named here so that it is loaded only where it is used.
ENGINE = "atheris"
INPUTS = "ribwright_sim.fuzz.inputs"
WATCHED = ("ribwright_board", "ribwright_host")
CORPUS = "tests/fuzz_corpus"
LONGEST_BYTES = 2048
SLOW_S = 20
CHILD = "child"
ITSELF = (sys.executable, "-m", "ribwright_sim.fuzz.guided")
MISSING = (
    "fuzz: atheris is not installed; it comes for Linux on x86_64 with Python 3.11 to 3.14: "
    "pip install 'ribwright[fuzz]'. Without it, `python -m ribwright_sim.fuzz build` plays drawn frames.\n"
)
_SHOWN = re.compile(r"cov: (\d+) ft: (\d+) corp: (\d+)")
_DONE = re.compile(r"stat::number_of_executed_units:\s*(\d+)")


def child(words: Sequence[str]) -> None:
    """Inside the engine: never returns.

    words: of libFuzzer.
    """
    engine = importlib.import_module(ENGINE)
    target = importlib.import_module(INPUTS).Target()
    seen, left = watch(engine, WATCHED)
    sys.stdout.write(f"fuzz: {seen} functions are watched, {left} are not\n")
    sys.stdout.flush()
    # The first word is how the engine starts itself again, by a shell, when it compares inputs.
    engine.Setup([" ".join([*ITSELF, CHILD]), *words], target.run)
    engine.Fuzz()


def _engine(words: Sequence[str]) -> subprocess.Popen[str]:
    command = [*ITSELF, CHILD, *words]
    return subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, errors="replace"
    )


def play(folder: Path, corpus: Path, minutes: float) -> int:
    """Run for so long and write fuzz_guided.json; 1 when something escaped.

    folder: for what is found and what is worth keeping. corpus: inputs to begin with; read only. minutes: by
    the clock.
    """
    kept = folder / "fuzz_corpus"
    kept.mkdir(parents=True, exist_ok=True)
    begun = time.monotonic()
    options = [
        f"-max_total_time={int(minutes * 60)}",
        f"-max_len={LONGEST_BYTES}",
        f"-timeout={SLOW_S}",
        f"-artifact_prefix={folder}/fuzz_found_",
        "-print_final_stats=1",
    ]
    figures: dict[str, object] = {"executions": 0, "edges": 0, "features": 0, "inputs": 0}
    with _engine([*options, str(kept), str(corpus)]) as running:
        for line in running.stdout or ():
            sys.stdout.write(line)
            sys.stdout.flush()
            if shown := _SHOWN.search(line):
                figures |= dict(zip(("edges", "features", "inputs"), map(int, shown.groups()), strict=True))
            if done := _DONE.search(line):
                figures["executions"] = int(done[1])
    figures["seconds"] = round(time.monotonic() - begun, 1)
    figures["found"] = sorted(path.name for path in folder.glob("fuzz_found_*"))
    figures["ended_well"] = running.returncode == 0
    (folder / "fuzz_guided.json").write_text(json.dumps(figures, indent=2) + "\n", encoding="utf-8")
    return 0 if running.returncode == 0 else 1


def minimise(folder: Path, corpus: Path) -> int:
    """Put into fuzz_fewer, in the folder, the fewest inputs of corpus and run that show as much as all of
    them.

    folder: of a run. corpus: read only. Gives the engine's exit code.
    """
    fewer = folder / "fuzz_fewer"
    fewer.mkdir(parents=True, exist_ok=True)
    words = ["-set_cover_merge=1", "-use_counters=0", str(fewer), str(corpus), str(folder / "fuzz_corpus")]
    with _engine(words) as running:
        for line in running.stdout or ():
            sys.stdout.write(line)
    return running.returncode


def main(words: Sequence[str]) -> int:
    """Do what the command line says; 2 where the engine is missing, else as play() or minimise().

    words: of the command line, without the program's.
    """
    if find_spec(ENGINE) is None:
        sys.stderr.write(MISSING)
        return 2
    if words[:1] == [CHILD]:
        child(words[1:])
    parser = argparse.ArgumentParser(prog="fuzz.guided", description="coverage-guided fuzzing of the link")
    parser.add_argument("folder", nargs="?", default="build", type=Path)
    parser.add_argument("--corpus", type=Path, default=Path(CORPUS))
    parser.add_argument("--minutes", type=float, default=10.0)
    parser.add_argument(
        "--minimise", action="store_true", help="only find the fewest inputs that show as much"
    )
    asked = parser.parse_args(words)
    if asked.minimise:
        return minimise(asked.folder, asked.corpus)
    return play(asked.folder, asked.corpus, asked.minutes)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
