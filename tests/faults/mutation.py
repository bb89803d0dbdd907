"""`python -m faults.mutation FOLDER`: weaken one rule at a time and see that somebody notices.

Writes mutants.json and mutants_notes.json. The firmware itself is never touched: each mutant is a copy in a
folder of its own, which comes first on the search path of the process that is to notice.
"""

import argparse
import json
import os
import platform
import shutil
import subprocess
import sys
import tempfile
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from faults.mutants import FIRMWARE, ROOT, Mutant, everything, source

SEED = 4
LONGEST_S = 240


def strike(firmware, task):
    """What a process finds on the firmware in a folder; None for the project's own."""
    paths = [str(ROOT / "tests")] if firmware is None else [str(firmware), str(ROOT / "tests")]
    own = os.environ.get("PYTHONPATH")
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(paths + ([own] if own else []))}
    environment["PYTHONDONTWRITEBYTECODE"] = "1"
    try:
        done = subprocess.run(
            [sys.executable, "-m", "faults.strike"],
            input=json.dumps(task),
            cwd=ROOT,
            env=environment,
            capture_output=True,
            text=True,
            timeout=LONGEST_S,
            check=False,
        )
    except subprocess.TimeoutExpired:
        return {"by": f"nothing came for {LONGEST_S} s", "known": [], "seconds": float(LONGEST_S)}
    lines = done.stdout.strip().splitlines()
    if done.returncode or not lines:
        last = (done.stderr.strip().splitlines() or [f"exit code {done.returncode}"])[-1]
        return {"by": f"ended with {last}", "known": [], "seconds": 0.0, "crashed": True}
    return json.loads(lines[-1])


def baseline(mutants, workers):
    """Cases and tests that go wrong on the unchanged firmware: they show nothing about a mutant."""
    ids = sorted({fault for mutant in mutants for fault in mutant.faults})
    tests = sorted({test for mutant in mutants for test in mutant.tests})
    walk = any(mutant.walk for mutant in mutants)
    parts = [{"faults": ids[at::workers], "tests": [], "walk": False} for at in range(workers)]
    parts.append({"faults": [], "tests": tests, "walk": walk})
    with ThreadPoolExecutor(workers) as pool:
        found = list(pool.map(lambda part: strike(None, {"baseline": True, **part}), parts))
    if any(answer.get("crashed") for answer in found):
        raise RuntimeError(f"the unchanged firmware: {found}")
    return sorted({name for answer in found for name in answer["known"]})


def played(mutant: Mutant, known):
    """One mutant's verdict: who noticed, "" for nobody, and how long it took."""
    with tempfile.TemporaryDirectory(prefix="mutant-") as folder:
        package = Path(folder) / FIRMWARE.name
        shutil.copytree(FIRMWARE, package, ignore=shutil.ignore_patterns("__pycache__"))
        (package / mutant.file).write_text(source(mutant), encoding="utf-8")
        task = {"faults": mutant.faults, "tests": mutant.tests, "walk": mutant.walk, "known": known}
        return strike(Path(folder), task)


def machine():
    """Where it was measured."""
    return {"system": platform.system(), "machine": platform.machine(), "python": platform.python_version()}


def run(mutants, workers, step=lambda _mutant, _answer: None):
    """Play mutants; returns their verdicts in order, and what goes wrong without any."""
    known = baseline(mutants, workers)

    def one(mutant):
        answer = played(mutant, known)
        step(mutant, answer)
        return answer

    with ThreadPoolExecutor(workers) as pool:
        return list(pool.map(one, mutants)), known


def build(folder, workers, word):
    """Play the whole list and write what came of it; 0 when every mutant was noticed."""
    begun = time.monotonic()
    listed = [mutant for mutant in everything() if any(part in mutant.name for part in word.split(";"))]
    mutants = [mutant for mutant in listed if not mutant.same]
    for mutant in listed:
        source(mutant)

    def step(mutant, answer):
        sys.stderr.write(f"{answer['seconds']:6.1f} s  {mutant.name}: {answer['by'] or 'SURVIVED'}\n")

    verdicts, known = run(mutants, workers, step)
    survived = [mutant for mutant, answer in zip(mutants, verdicts, strict=True) if not answer["by"]]
    figures = {
        "mutants_total": len(mutants),
        "mutants_killed": len(mutants) - len(survived),
        "mutants_survived": len(survived),
        "mutants_without_effect": len(listed) - len(mutants),
        "seed": SEED,
        "machine": machine() | {"workers": workers},
        "seconds": round(time.monotonic() - begun, 1),
    }
    notes = {
        "survived": [mutant.name for mutant in survived],
        "noticed": {
            mutant.name: {"what": mutant.what, "by": answer["by"], "seconds": answer["seconds"]}
            for mutant, answer in zip(mutants, verdicts, strict=True)
        },
        "without_effect": {mutant.name: mutant.same for mutant in listed if mutant.same},
        "wrong_without_any": known,
    }
    folder.mkdir(parents=True, exist_ok=True)
    for name, content in (("mutants.json", figures), ("mutants_notes.json", notes)):
        (folder / name).write_text(json.dumps(content, indent=2) + "\n", encoding="utf-8")
    for name in notes["survived"]:
        print(f"survived: {name}")
    print(f"{figures['mutants_killed']} of {len(mutants)} noticed; written: {folder / 'mutants.json'}")
    return 1 if survived else 0


def main(words):
    """Do what the command line says."""
    parser = argparse.ArgumentParser(prog="mutation", description="weaken one rule at a time")
    parser.add_argument("folder", nargs="?", default="build", type=Path)
    parser.add_argument("--workers", type=int, default=os.cpu_count() or 1)
    parser.add_argument("--only", default="", help="parts of the names to play, with ; between them")
    asked = parser.parse_args(words)
    return build(asked.folder, asked.workers, asked.only)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
