"""The page about the link is what the table of messages makes of it."""

import pytest

from ribwright_board.core import messages
from ribwright_host import link_page


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
