"""Pages written from the code: as the code stands, and one that is not says how to write it again."""

import pytest

from ribwright_host import files_page, link_page, trouble_page
from ribwright_sim import physics_page

PAGES = (files_page, link_page, trouble_page, physics_page)


@pytest.mark.parametrize("written", PAGES)
def test_page_is_up_to_date(written):
    assert written.PAGE.read_text(encoding="utf-8") == written.page()
    assert written.main([]) == 0


@pytest.mark.parametrize("written", PAGES)
def test_page_that_is_not_says_how_to_write_it_again(written, tmp_path, monkeypatch, capsys):
    path = tmp_path / "PAGE.md"
    monkeypatch.setattr(written, "PAGE", path)
    assert written.main([]) == 1
    assert "--write" in capsys.readouterr().err
    assert written.main(["--write"]) == 0
    assert written.main([]) == 0
    path.write_text("old", encoding="utf-8")
    assert written.main([]) == 1
