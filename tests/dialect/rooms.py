"""Who may import whom, as a table, and the reading of imports that checks it.

Each file belongs to one room. A room names the modules it may import; a name stands for itself and
for everything below it. Imports are read from the syntax tree, so a file need not be importable.
"""

import ast
import sys
from dataclasses import dataclass
from pathlib import Path

BOARD = "ribwright_board"
HOST = "ribwright_host"
SIM = "ribwright_sim"
CORE = BOARD + ".core"
DRIVERS = BOARD + ".drivers"
CARRIED = BOARD + ".carried"
APP = BOARD + ".app"

# The host files that rehearse, tune, fit and plan, and the one that starts the virtual rig.
HOST_FILES_USING_SIM = ("rehearse.py", "tune.py", "virtual.py", "fit.py", "plan.py")
HOST_FILE_USING_SERIAL = "transport.py"

CORE_LIBRARY = frozenset({"math", "struct", "json", "collections", "binascii", "simple_pid"})
DRIVER_LIBRARY = frozenset("machine time micropython os gc hashlib sys select framebuf binascii json".split())
CARRIED_LIBRARY = frozenset({"micropython", "framebuf", "time"})
BOOT_LIBRARY = frozenset({"pins", "machine"})
STAY_LIBRARY = frozenset({"pins", "machine", "os", "json"})
MAIN_LIBRARY = frozenset({"gc", "stay", "sys"})
SIM_LIBRARY = frozenset({"numpy", "scipy", "numba"})
# What the solver is measured against; nothing else of the simulator may know them.
PEERS = frozenset({"casadi", "sksundae", "fipy"})


@dataclass(frozen=True)
class Import:
    """One imported module or name, in full, and its line."""

    name: str
    line: int


def module_of(path: Path) -> str:
    """Dotted name of a file given relative to the folder that holds its package."""
    parts = path.with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def imports_of(source: str, path: Path) -> list[Import]:
    """Every import of a file, relative ones made absolute, `from a import b` as `a.b`."""
    package = list(path.parts[:-1])
    found = []
    for node in ast.walk(ast.parse(source, str(path))):
        if isinstance(node, ast.Import):
            found += [Import(alias.name, node.lineno) for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            base = package[: len(package) - node.level + 1] if node.level else []
            module = ".".join(base + ([node.module] if node.module else []))
            found += [Import(f"{module}.{alias.name}", node.lineno) for alias in node.names]
        elif isinstance(node, ast.Call) and node.args and isinstance(node.args[0], ast.Constant):
            called = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
            if called in ("import_module", "__import__") and isinstance(node.args[0].value, str):
                found.append(Import(node.args[0].value, node.lineno))
    return found


def within(name: str, allowed: frozenset[str]) -> bool:
    """Whether a dotted name is one of the allowed modules or lies below one."""
    parts = name.split(".")
    return any(".".join(parts[:n]) in allowed for n in range(1, len(parts) + 1))


def allowed_for(path: Path, libraries: frozenset[str]) -> frozenset[str] | None:
    """Modules that a file may import; None where anything goes.

    path: relative to the folder of its package, e.g. ribwright_board/core/wire.py.
    libraries: top-level modules of the declared dependencies.
    """
    package, *rest = path.parts
    inner = rest[0]
    if package == BOARD:
        rooms = {
            "core": CORE_LIBRARY | {CORE},
            "drivers": DRIVER_LIBRARY | {CORE, DRIVERS, CARRIED},
            "carried": CARRIED_LIBRARY,
            "app.py": frozenset({CORE, "gc"}),
            "__init__.py": frozenset(),
        }
        if path.name == "board.py" and inner == "drivers":
            # Where the pieces are put together: the rig's pins and the version enter here alone.
            return rooms[inner] | {"pins", BOARD + ".__version__"}
        if inner == "root":
            root = {"boot.py": BOOT_LIBRARY, "stay.py": STAY_LIBRARY}
            return root.get(rest[1], MAIN_LIBRARY | {APP, DRIVERS})
        return rooms[inner]
    standard = frozenset(sys.stdlib_module_names)
    if package == SIM:
        if inner == "shim":
            return None
        return standard | SIM_LIBRARY | {SIM, CORE, APP} | (PEERS if inner == "measure" else frozenset())
    allowed = standard | libraries | {HOST, CORE, BOARD + ".__version__"}
    if path.name in HOST_FILES_USING_SIM:
        allowed |= {SIM}
    return allowed if path.name == HOST_FILE_USING_SERIAL else allowed - {"serial"}


def wrong_imports(source: str, path: Path, libraries: frozenset[str]) -> list[str]:
    """Imports that the table does not allow, one sentence each."""
    allowed = allowed_for(path, libraries)
    if allowed is None:
        return []
    return [
        f"{path}:{found.line}: imports {found.name}, which its room may not"
        for found in imports_of(source, path)
        if not within(found.name, allowed)
    ]
