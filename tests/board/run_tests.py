"""Run the test functions of one file on the board's interpreter: run_tests.py test_units."""

import gc
import sys


def run(name):
    module = getattr(__import__("board." + name), name)
    names = sorted(key for key in dir(module) if key.startswith("test_"))
    for key in names:
        print("run", key)
        # What one test leaves scattered in the heap must not fail a long list of the next.
        gc.collect()
        getattr(module, key)()
    print("passed", len(names))


if __name__ == "__main__":
    run(sys.argv[1])
