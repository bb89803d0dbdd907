"""The page about the link is what the table of messages makes of it."""

import pytest

from ribwright_board.core import messages
from ribwright_host import link_page


def test_page_is_up_to_date():
    assert link_page.PAGE.read_text(encoding="utf-8") == link_page.page()
    assert link_page.main([]) == 0


def test_page_that_is_not_says_how_to_write_it_again(tmp_path, monkeypatch, capsys):
    monkeypatch.setattr(link_page, "PAGE", tmp_path / "LINK.md")
    assert link_page.main([]) == 1
    assert "--write" in capsys.readouterr().err
    assert link_page.main(["--write"]) == 0
    assert link_page.main([]) == 0
    (tmp_path / "LINK.md").write_text("old", encoding="utf-8")
    assert link_page.main([]) == 1


def test_message_without_words_and_words_without_a_message_are_noticed(monkeypatch):
    asks = dict(messages.ASKS)
    asks["status"] = (asks["status"][0], (*asks["status"][1], "colour"))
    monkeypatch.setattr(link_page, "ASKS", asks)
    with pytest.raises(KeyError, match="colour"):
        link_page.page()
    del asks["counters"]
    asks["status"] = messages.ASKS["status"]
    with pytest.raises(ValueError, match="counters"):
        link_page.page()


def test_every_ask_and_every_field_is_on_it():
    text = link_page.page()
    for verb, (fields, answers) in messages.ASKS.items():
        part = text.split(f"### {verb}\n")[1].split("\n### ")[0]
        for name in [field[0] for field in fields] + list(answers):
            assert f"| `{name}` |" in part, (verb, name)
