"""Sections of evidence: how numbers read, on pages and on paper, and as spreadsheets.

The spreadsheets are read back by csv (standard library) and openpyxl.
"""

import csv
from io import BytesIO, StringIO
from typing import Any

import lxml.html
import pytest
from django.template.loader import render_to_string
from openpyxl import load_workbook

from assessments.evidence.results import (
    Drawing,
    Figure,
    NotComputed,
    Section,
    Table,
    section_document,
)
from assessments.exports import figures_table, tables_csv, tables_of, tables_xlsx
from assessments.sections import figure_words, is_number, laid_out, shown

SVG = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 20 10"><path d="M0 5h20"/></svg>'
WIDE = Table("wide", "Seven columns", tuple("ABCDEFG"), (("x", 1, 2, 3, 4, 5, 6),))
SECTION = Section(
    key="agreement",
    title="Agreement",
    summary="Two assessors agree well: kappa is 0.74.",
    figures=(
        Figure(
            key="kappa",
            title="Weighted kappa",
            value=0.74321,
            low=0.61,
            high=0.8512,
            standard_error=0.03114,
            interval="bootstrap, 1000 samples, seed 1",
            n=12,
            indicative=True,
            notes=("Linear weights.",),
            source="Cohen 1968",
        ),
        NotComputed("kr21", "KR-21", "Everyone met: there is no spread to compare."),
    ),
    tables=(
        Table(
            "criteria",
            "By criterion",
            ("Criterion", "Share", "Number"),
            (("Fugenbreite – ½ ”", 0.5, 12), ("=SUM(A1:A9)", -0.03114, None), ("-1 <b>", 1.0, 3)),
        ),
        WIDE,
    ),
    drawings=(Drawing("spread", "Spread of shares", 'Most are <"high">.', SVG),),
    notes=("Figures of one day.",),
)
DOCUMENT = section_document(SECTION)


def page(name: str = "includes/section.html") -> Any:
    return lxml.html.fragment_fromstring(
        render_to_string(name, {"section": DOCUMENT}), create_parent="main"
    )


def text_of(thing: Any) -> str:
    return " ".join(" ".join(thing.itertext()).split())


@pytest.mark.parametrize("name", ["includes/section.html", "documents/section.html"])
def test_a_section_shows_its_figures_in_words(name: str) -> None:
    text = text_of(page(name))
    assert text.startswith("Agreement Two assessors agree well")
    for words in (
        "0.74 (95 %: 0.61 to 0.85)",
        "Indicative",
        "Interval: bootstrap, 1000 samples, seed 1",
        "Standard error 0.031",
        "n = 12.",
        "Linear weights.",
        "Source: Cohen 1968",
        "Everyone met: there is no spread to compare.",
        "Figures of one day.",
    ):
        assert words in text
    assert "None" not in text


def test_the_tables_of_a_page_have_scoped_headers_and_labels() -> None:
    table, wide = page().iter("table")
    cells = list(table.iter("td"))
    assert [th.get("scope") for th in table.iter("th")] == ["col"] * 3 + ["row"] * 3
    assert [td.get("data-label") for td in cells] == ["Share", "Number"] * 3
    assert [td.get("class") for td in cells] == ["number"] * 6
    assert [text_of(td) for td in cells] == ["0.500", "12", "−0.031", "", "1.000", "3"]
    assert wide.getparent().get("tabindex") == "0"  # what scrolls must be reached by keyboard
    assert table.getparent().get("tabindex") is None


@pytest.mark.parametrize("name", ["includes/section.html", "documents/section.html"])
def test_a_drawing_is_named_and_what_people_typed_is_no_markup(name: str) -> None:
    made = page(name)
    (svg,) = made.iter("svg")
    assert svg.get("role") == "img"
    assert svg.get("aria-label") == svg.findtext("title") == 'Most are <"high">.'
    assert svg.find("path").get("d") == "M0 5h20"
    assert made.findtext(".//figcaption") == "Spread of shares"
    assert made.find(".//b") is None
    assert made.xpath(".//@style") == []


def test_a_drawing_that_names_itself_is_named_once() -> None:
    named = SVG.replace("<svg", '<svg role="img" aria-label="old"').replace(
        "<path", "<title>old</title><path"
    )
    drawing = {**DOCUMENT["drawings"][0], "svg": named}
    html = render_to_string(
        "includes/section.html", {"section": {**DOCUMENT, "drawings": [drawing]}}
    )
    assert html.count("<title>") == html.count('role="img"') == 1
    assert "old" not in html


@pytest.mark.parametrize(
    ("value", "words"),
    [
        ("0.743218", "0.74"),
        ("0.995", "0.99"),  # IEEE 754: 0.995 is a little less
        ("-0.000218", "−0.0002"),
        ("-0.000018", "0.0000"),
        ("133.25", "133.2"),
        (12, "12"),
        ("0", "0"),
    ],
)
def test_numbers_are_shown_with_two_figures_that_count(value: str | int, words: str) -> None:
    assert shown(value) == words


@pytest.mark.parametrize(
    ("cell", "number"), [("1.5", True), ("1.50", False), ("007", False), ("", False), (None, False)]
)
def test_only_what_sections_write_as_numbers_is_one(cell: object, number: bool) -> None:
    assert is_number(cell) is number


@pytest.mark.parametrize(
    ("low", "high", "words"),
    [
        (None, None, "0.74"),
        (None, "0.9", "0.74 (90 %: up to 0.90)"),
        ("0.5", None, "0.74 (90 %: 0.50 or more)"),
        ("-0.0035", "1", "0.74 (90 %: 0.00 to 1.00)"),
        ("0.725", "0.755", "0.740 (90 %: 0.725 to 0.755)"),
    ],
)
def test_an_interval_may_have_one_end(low: str | None, high: str | None, words: str) -> None:
    assert figure_words({"value": "0.74", "low": low, "high": high, "level": "0.9"}) == words


def test_a_column_with_words_is_not_one_of_numbers() -> None:
    table = laid_out({"key": "t", "title": "T", "columns": ["A"], "rows": [["0.123456"], ["met"]]})
    assert table.columns == [("A", False)]
    assert [row[0].text for row in table.rows] == ["0.12", "met"]


def test_csv_reads_back_and_guards_formulas() -> None:
    data = tables_csv(DOCUMENT["tables"])
    assert data.startswith(b"\xef\xbb\xbf")
    rows = list(csv.reader(StringIO(data.decode("utf-8-sig"), newline="")))
    assert rows[:6] == [
        ["By criterion"],
        ["Criterion", "Share", "Number"],
        ["Fugenbreite – ½ ”", "0.5", "12"],
        ["'=SUM(A1:A9)", "-0.03114", ""],
        ["'-1 <b>", "1", "3"],
        [],
    ]
    assert rows[6:] == [["Seven columns"], list("ABCDEFG"), list("x123456")]


@pytest.mark.parametrize("text", ["=1+1", "+1", "-x", "@A1", "\tx", "\r=1"])
def test_every_start_of_a_formula_is_guarded(text: str) -> None:
    table = {"key": "t", "title": text, "columns": [text], "rows": [[text]]}
    cells = list(csv.reader(StringIO(tables_csv([table]).decode("utf-8-sig"), newline="")))
    expected = text if is_number(text) else f"'{text}"
    assert cells == [[f"'{text}"], [f"'{text}"], [expected]]


def test_xlsx_reads_back_with_numbers_as_numbers() -> None:
    book = load_workbook(BytesIO(tables_xlsx(DOCUMENT["tables"])))
    assert book.sheetnames == ["By criterion", "Seven columns"]
    sheet = book["By criterion"]
    assert sheet.freeze_panes == "A2"
    assert [[cell.value for cell in row] for row in sheet.rows] == [
        ["Criterion", "Share", "Number"],
        ["Fugenbreite – ½ ”", 0.5, 12],
        ["=SUM(A1:A9)", -0.03114, None],
        ["-1 <b>", 1, 3],
    ]
    assert sheet["A3"].data_type == "s", "text is no formula"
    assert sheet["A3"].quotePrefix
    assert sheet["B2"].data_type == "n"
    assert sheet["A1"].font.bold


def test_sheet_names_are_short_and_differ() -> None:
    titles = [
        "By criterion: what [each] assessor/gave",
        "by criterion  what each assessor gave",
        "",
    ]
    tables = [{"key": "t", "title": title, "columns": ["A"], "rows": []} for title in titles]
    names = load_workbook(BytesIO(tables_xlsx(tables))).sheetnames
    assert names == ["By criterion what each assessor", "by criterion what each assess 2", "Table"]


def test_xlsx_takes_control_characters_and_no_tables_at_all() -> None:
    table = {"key": "t", "title": "T", "columns": ["A"], "rows": [["a\x0bb"]]}
    assert load_workbook(BytesIO(tables_xlsx([table])))["T"]["A2"].value == "a b"
    assert load_workbook(BytesIO(tables_xlsx([]))).sheetnames == ["No tables"]


def test_figures_are_a_table_too() -> None:
    table = figures_table(DOCUMENT)
    first, second = (dict(zip(table["columns"], row, strict=True)) for row in table["rows"])
    assert (first["Figure"], first["Value"], first["Low"]) == ("Weighted kappa", "0.74321", "0.61")
    assert (first["Number"], first["Indicative"], first["Source"]) == (12, "yes", "Cohen 1968")
    assert second["Value"] is None
    assert second["Not computed because"] == "Everyone met: there is no spread to compare."
    assert [each["key"] for each in tables_of([DOCUMENT])] == [
        "agreement_figures",
        "criteria",
        "wide",
    ]
