"""No text of a page stands outside gettext's reach."""

from pathlib import Path

import pytest

from tests.languages.bare import bare, templates


def test_no_template_has_bare_text() -> None:
    found = [line for path in templates() for line in bare(path)]
    assert not found, f"{len(found)} texts that are not translated:\n" + "\n".join(found)


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("<p>Hello there</p>", ["1: Hello there"]),
        ('<p>{% translate "Hello there" %}</p>', []),
        ("<p>\n{% blocktranslate with a=b %}Hello {{ a }}{% endblocktranslate %}</p>", []),
        ('<a aria-label="Main" href="x">1</a>', ["1: Main"]),
        ("<a aria-label=\"{% translate 'Main' %}\">1</a>", []),
        ("<p>38.1 mm, PDF</p><script>let all = 1</script>", []),
        ("<p>{% if x %}\nyes{% endif %}</p>", ["2: yes"]),
    ],
)
def test_bare_text_is_found(tmp_path: Path, text: str, found: list[str]) -> None:
    path = tmp_path / "page.html"
    path.write_text(text)
    assert list(bare(path)) == [f"{path}:{each}" for each in found]
