"""The README says what the code does."""

from pathlib import Path

from ribwright_host.errors import EXIT_CODES
from ribwright_host.flash_checks import oldest_text

README = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")


def test_readme_opens_with_one_paragraph_that_states_the_job() -> None:
    title, paragraph = README.split("\n\n")[:2]
    assert title == "# Ribwright"
    assert paragraph.startswith("Ribwright bends the sides of stringed instruments")
    assert "\n" not in paragraph


def test_readme_repeats_the_table_of_exit_codes() -> None:
    table = [line for line in README.splitlines() if line.startswith("| ")]
    for code, words in EXIT_CODES:
        assert f"| {code} | {words} |" in table


def test_readme_names_the_oldest_micropython() -> None:
    assert f"Install MicroPython {oldest_text()} or later on the board" in README
