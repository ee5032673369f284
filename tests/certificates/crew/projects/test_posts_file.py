"""Posts as a CSV file: every fault at its row and column, all saved or nothing, round trip.

The separators, quoting and doubled quotation marks are those of RFC 4180 and of spreadsheets;
the file is written and read back with Python's csv module as the other side.
"""

import csv
import io
import re
from datetime import date

import pytest
from django.conf import settings as settings_of_site
from django.db import connection
from django.test.utils import CaptureQueriesContext
from hypothesis import given, settings
from hypothesis import strategies as st

from certificates.actions.projects.postfile import PostsRefused, load_posts, plan_posts
from certificates.actions.projects.values import values_of
from certificates.models import Post, Project
from certificates.postfile import COLUMNS, REQUIRED, posts_csv
from certificates.postfile.columns import guarded, joined, parted, unguarded
from certificates.queries.projects import rules_by_program
from certificates.sizes import exact_size, shown_size
from tests.assessments.builders import make_standard
from tests.certificates.crew.projects.works import RULES, Works
from tests.factories import make_organisation, make_program
from tests.faults.marks import examples
from training.models import LogEntry

HEAD = "code,title,program,places,first day,last day,position,depth from,depth to,depth unit"
ROW = 'N-1,"Dutchmen, north",DUTCH,3,2027-03-08,2027-04-30,sill | Soffit,2,6,in'


def faults_of(works: Works, text: str) -> list[tuple[int, str | None, str]]:
    """Return the faults of a file of which nothing is planned."""
    plan = plan_posts(project=works.project, text=text)
    assert plan.rows == ()
    return [(fault.row, fault.column, fault.message) for fault in plan.faults]


def load(works: Works, text: str, project: Project | None = None) -> None:
    """Look at a file, then save it."""
    project = project or works.project
    plan = plan_posts(project=project, text=text)
    assert plan.faults == ()
    load_posts(actor=works.manager, project=project, text=text, state=plan.state)


@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_a_file_is_loaded(works: Works, separator: str) -> None:
    out = io.StringIO()
    writer = csv.writer(out, delimiter=separator)
    writer.writerows(csv.reader([HEAD.upper().replace("DEPTH", "depth"), ROW]))
    load(works, "\ufeff" + out.getvalue())
    post = Post.objects.get()
    assert (post.code, post.title, post.places) == ("N-1", "Dutchmen, north", 3)
    assert (post.starts_on, post.ends_on) == (date(2027, 3, 8), date(2027, 4, 30))
    assert post.program == works.program
    assert post.conditions == {
        "position": ["sill", "soffit"],
        "depth": {"from": "2", "to": "6", "unit": "in"},
    }
    entry = LogEntry.objects.get()
    assert (entry.verb, list(entry.data["posts"])) == ("post.loaded", [str(post.pk)])


CASES: list[tuple[str, int, str | None, str]] = [
    ("", 1, None, "The file is empty"),
    ("code,title", 1, None, "The header has no column program, places, first day, last day"),
    (f"{HEAD},code\n{ROW}", 1, None, "“code” stands twice"),
    (HEAD, 2, None, "no post below the header"),
    (f'{HEAD}\n"N-1,x', 2, None, "quotation mark that is not closed"),
    (f"{HEAD}\n{ROW},more", 2, None, "11 cells, the header 10"),
    (f"{HEAD},stone\n{ROW}", 1, "stone", "title, depth from"),
    (f"{HEAD}\n{ROW.replace('N-1', '')}", 2, "code", "Write a short code"),
    (f"{HEAD}\n{ROW.replace('N-1', 'N 1')}", 2, "code", "no spaces"),
    (f"{HEAD}\n{ROW.replace('DUTCH', 'TILES')}", 2, "program", "“TILES”"),
    (f"{HEAD}\n{ROW.replace(',3,', ',three,')}", 2, "places", "“three” is no whole number"),
    (f"{HEAD}\n{ROW.replace(',3,', ',,')}", 2, "places", "Write a whole number"),
    (f"{HEAD}\n{ROW.replace(',3,', ',0,')}", 2, "places", "from 1 to 500"),
    (f"{HEAD}\n{ROW.replace('2027-03-08', '03/08/2027')}", 2, "first day", "more than one way"),
    (f"{HEAD}\n{ROW.replace('2027-04-30', '2027-04-31')}", 2, "last day", "no day 2027-04-31"),
    (f"{HEAD}\n{ROW.replace('2027-04-30', '2027-07-01')}", 2, "last day", "2027-06-30"),
    (f"{HEAD}\n{ROW.replace('2027-04-30', '2027-03-07')}", 2, "last day", "before the first"),
    (f"{HEAD}\n{ROW.replace('sill', 'roof')}", 2, "position", "“roof” is not known here"),
    (f"{HEAD}\n{ROW.replace(',2,6', ',2,1')}", 2, "depth to", "not below"),
    (f'{HEAD}\n{ROW.replace(",2,6", ",2,6x")}', 2, "depth to", "not a unit"),
    (f'{HEAD}\n{ROW.replace(",2,6", chr(44) + chr(34) + "2,5" + chr(34) + ",6")}',
     2, "depth from", "with a point instead of a comma"),
    (f"{HEAD}\n{ROW.replace(',in', ',kg')}", 2, "depth unit", "Write a unit of length"),
    (f"{HEAD}\n{ROW.replace(',in', ',')}", 2, "depth unit", "Write the unit"),
    (f"{HEAD}\n{ROW.replace(',in', ',ell')}", 2, "depth unit", "“ell” is no unit"),
    (f"{HEAD}\n{ROW.replace(',2,6,in', ',,,in')}", 2, "depth unit", "Write a size beside"),
    (f"{HEAD}\n{ROW}\n{ROW.replace('N-1', 'n-1')}", 3, "code", "Row 2 has this code already"),
    (f"{HEAD},condition position\n{ROW},sill", 2, "condition position", "Another column"),
    (f"{HEAD},masons per lead\n{ROW},4", 2, "lead program", "Choose the program"),
    (f"{HEAD},lead program\n{ROW},POINT", 2, "masons per lead", "for how many masons"),
    (f"{HEAD},lead version\n{ROW},1", 2, "lead program", "Write the program's code"),
    (f"{HEAD},version\n{ROW},9", 2, "version", "no version “9”"),
    (f"{HEAD},provider\n{ROW},Nobody", 2, "provider", "“Nobody” has no program DUTCH"),
    (f"{HEAD}\n{ROW.replace('DUTCH', 'POINT')}\n{ROW.replace('N-1', 'N-2')}",
     2, "position", "has no rules about conditions"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "row", "column", "words"), CASES)
def test_each_fault_is_told_at_its_row_and_column(
    works: Works, text: str, row: int, column: str | None, words: str
) -> None:
    found = faults_of(works, text)
    assert (row, column) == found[0][:2]
    assert words in found[0][2]
    with pytest.raises(PostsRefused):
        load_posts(actor=works.manager, project=works.project, text=text, state="")
    assert not Post.objects.exists()


def test_all_faults_are_told_at_once(works: Works) -> None:
    bad = "N 2,,TILES,x,8.3.2027,2027-07-01,,2,,\nN-3,Sills,POINT,1,2027-02-01,2027-03-02,,,,"
    found = [(row, column) for row, column, _ in faults_of(works, f"{HEAD}\n{ROW}\n{bad}")]
    assert found == [
        (3, "program"),
        (3, "places"),
        (3, "first day"),
        (4, "first day"),
    ]


def test_a_code_of_two_providers_needs_the_provider(works: Works) -> None:
    other = make_program(make_organisation(name="Harbour school"), code="DUTCH")
    make_standard(other, about={"qualification": RULES})
    ((row, column, message),) = faults_of(works, f"{HEAD}\n{ROW}")
    assert (row, column) == (2, "provider")
    assert "Harbour school" in message
    load(works, f"{HEAD},provider\n{ROW},harbour SCHOOL")
    assert Post.objects.get().program == other


def test_without_a_version_the_latest_sealed_one_is_taken(works: Works) -> None:
    later = make_program(works.program.provider, code="DUTCH", version=2)
    make_program(works.program.provider, code="DUTCH", version=3)  # not sealed
    make_standard(later, about={"qualification": RULES})
    load(works, f"{HEAD},version\n{ROW},\n{ROW.replace('N-1', 'N-2')},1")
    assert [post.program for post in Post.objects.all()] == [later, works.program]


TRICKY = ["=1+1", "'=1+1", "+a", "-b", "@c", "'quoted'", 'a "b", c; d', "naïve ½", "x | y \\ z"]


def test_what_is_written_is_read_back_the_same(works: Works) -> None:
    for number, text in enumerate(TRICKY):
        works.post(
            code=f"P{number}",
            title=text,
            work=f"{text}\nand a second line",
            conditions={
                "title": ["sandstone", "lime | stone"],
                "depth": {"from": "253/254", "unit": "in"}
                if number % 2
                else {"to": "6", "unit": "in"},
            },
            program=works.program,
            masons_per_lead=2,
            lead_program=works.plain,
        )
    posts = list(works.project.posts.all())
    before = [values_of(post).document() for post in posts]
    rules = rules_by_program([works.program.pk])
    content = posts_csv([values_of(post) for post in posts], rules)
    again = Project.objects.create(
        contractor=works.contractor,
        name="Empty",
        time_zone="UTC",
        starts_on=works.project.starts_on,
        ends_on=works.project.ends_on,
        created_by=works.manager,
    )
    load(works, content.decode("utf-8"), again)
    assert [values_of(post).document() for post in again.posts.all()] == before
    # Into the same project: every post stays as it is, and nothing is written.
    entries = LogEntry.objects.count()
    plan = plan_posts(project=works.project, text=content.decode("utf-8"))
    assert plan.count("same") == len(TRICKY)
    load(works, content.decode("utf-8"))
    assert LogEntry.objects.count() == entries


def test_no_cell_of_a_download_is_a_formula(works: Works) -> None:
    # OWASP, CSV injection: cells that begin with = + - @, tab or carriage return (from memory).
    works.post(code="A", title="=HYPERLINK(1)", work="@SUM(1)\n-1")
    content = posts_csv([values_of(post) for post in works.project.posts.all()], {})
    cells = [cell for row in csv.reader(io.StringIO(content.decode("utf-8-sig"))) for cell in row]
    assert "'=HYPERLINK(1)" in cells
    assert not [cell for cell in cells if cell[:1] in ("=", "+", "-", "@", "\t", "\r")]


@settings(max_examples=examples(60))
@given(st.text(alphabet="'=+-@\t\r|\\ab ", max_size=8))
def test_guarding_a_cell_loses_nothing(text: str) -> None:
    assert unguarded(guarded(text)) == text
    assert guarded(text)[:1] not in {"=", "+", "-", "@", "\t", "\r"}


@settings(max_examples=examples(60))
@given(st.lists(st.text(alphabet="a|\\ b", min_size=1).filter(lambda t: t == t.strip() != "")))
def test_values_in_one_cell_come_apart_again(values: list[str]) -> None:
    assert parted(joined(values)) == values


def test_sizes_are_exact() -> None:
    # The inch is 25.4 mm exactly (international yard and pound, 1959; NIST SP 811, appendix B).
    assert exact_size("2 in", "mm") == "50.8"
    assert exact_size("1½", "in") == "1.5"
    assert exact_size("25.4 mm", "in") == "1"
    assert shown_size("1.5", "in") == "1 1/2"
    assert exact_size("25.3 mm", "in") == "253/254"
    assert exact_size(shown_size("253/254", "in"), "in") == "253/254"


def test_known_codes_are_changed_and_nothing_is_removed(works: Works) -> None:
    kept, changed = works.post(code="K"), works.post(code="n-1", places=1)
    plan = plan_posts(project=works.project, text=f"{HEAD}\n{ROW}")
    assert [(row.word, row.post.pk) for row in plan.rows] == [("changed", changed.pk)]
    assert ("Places", "1", "3") in [(d.label, d.before, d.after) for d in plan.rows[0].differences]
    load(works, f"{HEAD}\n{ROW}")
    assert set(Post.objects.values_list("pk", "places")) == {(kept.pk, 3), (changed.pk, 3)}


def test_a_column_left_out_leaves_a_known_post_as_it_is(works: Works) -> None:
    later = make_program(works.program.provider, code="DUTCH", version=2)
    make_standard(later, about={"qualification": RULES})
    conditions = {"position": ["sill"], "depth": {"to": "6", "unit": "in"}}
    post = works.post(
        conditions=conditions, work="Kept", masons_per_lead=2, lead_program=works.plain
    )
    short = "code,title,program,places,first day,last day"
    row = "n-1,Sills,dutch,4,2027-03-01,2027-04-30"
    load(works, f"{short}\n{row}")
    post.refresh_from_db()
    assert (post.title, post.places, post.work, post.code) == ("Sills", 4, "Kept", "n-1")
    assert (post.conditions, post.program) == (conditions, works.program)
    assert (post.lead_program, post.masons_per_lead) == (works.plain, 2)
    # One column of a size is there: the size is what the file says. An empty cell empties.
    load(works, f"{short},depth from,depth unit,work\n{row},2,in,")
    post.refresh_from_db()
    assert post.conditions == {"position": ["sill"], "depth": {"from": "2", "unit": "in"}}
    assert post.work == ""
    # Another program takes over no conditions, and no version.
    load(works, f"{short}\n{row.replace('dutch', 'POINT')}")
    post.refresh_from_db()
    assert (post.conditions, post.program) == ({}, works.plain)


def test_the_document_names_every_column() -> None:
    text = (settings_of_site.BASE_DIR / "fixtures" / "POSTS_FORMAT.md").read_text("utf-8")
    table = text.split("## Columns")[1].split("## Conditions")[0]
    named = [
        name
        for line in table.splitlines()
        if line.startswith("| `")
        for name in re.findall("`([a-z ]+)`", line.split("|")[1])
    ]
    assert named == list(COLUMNS)
    needed = re.findall(r"`([a-z ]+)` \*", table)
    assert needed == list(REQUIRED)


def test_the_example_of_the_document_is_read(works: Works) -> None:
    text = (settings_of_site.BASE_DIR / "fixtures" / "POSTS_FORMAT.md").read_text("utf-8")
    example = text.split("## An example")[1].split("```")[1].strip("\n")
    variables = [
        {**RULES["variables"][0]},
        {**RULES["variables"][0], "key": "place", "values": ["bench", "scaffold"],
         "assessed": "scaffold"},
        RULES["variables"][2],
    ]  # fmt: skip
    provider = works.program.provider
    for code, about in (("DUTCHMAN", {**RULES, "variables": variables}), ("REPOINT", None)):
        program = make_program(provider, code=code)
        make_standard(program, **({"about": {"qualification": about}} if about else {}))
    load(works, example)
    first, second = works.project.posts.all()
    assert (first.places, first.leads, second.places, second.leads) == (3, 1, 2, 0)
    assert first.conditions["position"] == ["sill", "vertical face"]
    assert second.conditions == {}


def test_a_plan_that_is_no_longer_true_is_shown_again(works: Works) -> None:
    post = works.post(code="N-1", places=1)
    plan = plan_posts(project=works.project, text=f"{HEAD}\n{ROW}")
    Post.objects.filter(pk=post.pk).update(places=2)
    with pytest.raises(PostsRefused, match="changed this project's posts since") as refused:
        load_posts(
            actor=works.manager, project=works.project, text=f"{HEAD}\n{ROW}", state=plan.state
        )
    assert Post.objects.get().places == 2
    assert refused.value.plan.state != plan.state


def test_the_number_of_queries_does_not_grow_with_the_rows(works: Works) -> None:
    counts = []
    for number in (1, 3):
        rows = "\n".join(ROW.replace("N-1", f"N-{i}") for i in range(number))
        with CaptureQueriesContext(connection) as queries:
            assert plan_posts(project=works.project, text=f"{HEAD}\n{rows}").faults == ()
        counts.append(len(queries))
    assert counts[0] == counts[1]
