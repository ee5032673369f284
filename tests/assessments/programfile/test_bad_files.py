"""Every kind of bad file: the line, the field and the sentence that says what to write."""

import pytest

from assessments.programfile.faults import Fault, ProgramFileError
from assessments.programfile.reading import read_program
from tests.assessments.programfile.sources import SMALL, changed


def faults_of(source: bytes | str) -> list[Fault]:
    with pytest.raises(ProgramFileError) as caught:
        read_program(source, "bad.yaml")
    return caught.value.faults


def only_fault(source: bytes | str) -> Fault:
    faults = faults_of(source)
    assert len(faults) == 1, [fault.sentence("bad.yaml") for fault in faults]
    return faults[0]


# What is changed in the sample, the line at fault, the field, and a part of the sentence.
ONE_FAULT = [
    # fields that are unknown, missing, twice or in the wrong place
    ("title: Sill repair", "titel: x\ntitle: Sill", "titel: x", "titel", "did you mean 'title'?"),
    ("critical: yes\n      not", "critcal: yes\n      not", "critcal: yes",
     "task.criteria[width].critcal", "did you mean 'critical'?"),
    ("validity_months: 24", "zzz: 1", "zzz: 1", "zzz", "write one of: format, code, version"),
    ("code: SILL\n", "", "format: bankermark program 1", "code",
     "this is missing; write 'code: ' and 2 to 40 capital"),
    ("      met_from: 1\n", "", "- key: arris", "task.criteria[arris].met_from", "is missing"),
    ("      limits_source: Set by the project\n", "", "- key: width",
     "task.criteria[width].limits_source", "this is missing"),
    ("expected: yes", "expected: yes\n      readings: 2", "readings: 2",
     "task.criteria[clean].readings", "only a measured criterion has it"),
    ("title: Sill repair", "title: Sill\ntitle: Twice", "title: Twice", "",
     "written twice (first on line 4)"),
    ("serves: {O1: 1}", "serves: {O1: 1, O1: 2}", "serves: {O1: 1, O1: 2}",
     "task.criteria[arris].serves", "written twice"),
    # values
    ("format: bankermark program 1", "format: bankermark program 2",
     "format: bankermark program 2", "format", "did you mean 'bankermark program 1'?"),
    ("code: SILL", "code: sill", "code: sill", "code", "2 to 40 capital letters"),
    ("version: 1\n", "version: 0\n", "version: 0", "version", "a whole number from 1 to 9,999"),
    ("version: 1\n", "version: 1.5\n", "version: 1.5", "version", "a whole number from 1"),
    ("unit: in\nmodules", "unit: cm\nmodules", "unit: cm", "unit", "write one of: in, mm"),
    ("title: Sill repair", "title:", "title:", "title", "write a text of at most 200 characters"),
    ("title: Sill repair", f"title: {'x' * 201}", f"title: {'x' * 201}", "title",
     "this has 201 characters"),
    ("title: Sill repair", "title: [a, b]", "title: [a, b]", "title", "not several values"),
    ("title: Sill repair", "title: '  '", "title: '  '", "title", "write a text"),
    ("kind: demonstration", "kind: demo", "kind: demo", "modules[M1].kind",
     "did you mean 'demonstration'?"),
    ("minimum: 60 %", "minimum: 60", "minimum: 60", "outcomes[O1].minimum",
     "write the percent sign: 60 %"),
    ("minimum: 60 %", "minimum: 160 %", "minimum: 160 %", "outcomes[O1].minimum", "0 % to 100 %"),
    ("hold_point: yes", "hold_point: maybe", "hold_point: maybe", "task.stages[fit].hold_point",
     "write yes or no"),
    ("joint: 1/8 in", "joint: 1/8", "joint: 1/8", "task.dimensions.joint", "write the unit too"),
    ("joint: 1/8 in", "joint: 1/8 furlong", "joint: 1/8 furlong", "task.dimensions.joint",
     "is not a unit known here; write one such as: nm"),
    ("joint: 1/8 in", "joint width: 1/8 in", "joint width: 1/8 in", "task.dimensions.joint width",
     "a letter first"),
    ("key: fit", "key: dry fit", "- key: dry fit", "task.stages[dry fit].key", "a letter first"),
    ("kind: rated", "kind: scored", "kind: scored", "task.criteria[arris].kind",
     "write one of: rated, measured"),
    ("weight: 1 1/2", "weight: heavy", "weight: heavy", "task.criteria[width].weight",
     "a number such as 2"),
    ("resolution: 1/64 in", "resolution: 1 mm", "resolution: 1 mm",
     "task.criteria[width].instrument.resolution", "write it in in"),
    ("decision_rule: guard band 1", "decision_rule: guarded", "decision_rule: guarded",
     "task.criteria[width].decision_rule", "guard band 1"),
    ("upper: 0", "upper: none", "upper: none", "task.criteria[voids].limits.upper",
     "write a whole number"),
    ("lower: 24 h", "lower: 24", "lower: 24", "task.criteria[covered].limits.lower",
     "such as 24 h"),
    ("cut: 70 %", "cut: most", "cut: most", "pass_rule.cut", "write a percentage such as 60 %"),
    ("combine: mean", "combine: average", "combine: average", "pass_rule.assessors.combine",
     "write one of: mean, lower, agreement"),
    # the wrong shape
    ("teaches: [O1, O2]", "teaches: O1", "teaches: O1", "modules[M1].teaches", "write a list"),
    ("serves: {O1: 1}", "serves: O1", "serves: O1", "task.criteria[arris].serves",
     "names, each with a"),
    ("serves: {O1: 1}", "serves: {}", "serves: {}", "task.criteria[arris].serves",
     "write 1 to 50"),
    ("  stages:\n    - key: fit\n      title: Dry fit\n      hold_point: yes\n    - key: set\n"
     "      title: Setting\n      hold_point: no\n", "  stages: []\n", "stages: []",
     "task.stages", "write 1 to 200"),
    ("    - hazard: Dust\n      text: Cut wet.\n      source: Site rules", "    - Dust", "- Dust",
     "task.cautions[#1]", "write a caution: hazard, text, source"),
    ("      limits:\n        upper: 0", "      limits:", "limits:", "task.criteria[voids].limits",
     "write the limits: lower, upper"),
    ("title: Sill repair", "title: Sill\n? [a, b]\n: c", "? [a, b]", "", "a single name"),
    ("hold_point: yes", "hold_point: [yes]", "hold_point: [yes]", "task.stages[fit].hold_point",
     "write yes or no, not several"),
    ("minutes: 60", "minutes: {a: b}", "minutes: {a: b}", "modules[M1].minutes", "not several"),
    ("joint: 1/8 in", "joint: []", "joint: []", "task.dimensions.joint", "not several"),
    ("rule: guard band 1", "rule: {}", "decision_rule: {}", "task.criteria[width].decision_rule",
     "write simple, or a guard band"),
    ("modules:\n  - key", "modules:\n  - []\n  - key", "- []", "modules[#1]", "write a module"),
    # what one part says about another
    ("teaches: [O1, O2]", "teaches: [O1, O3]", "teaches: [O1, O3]", "modules[M1].teaches[#2]",
     "no outcome of this file has the key 'O3'; write one of: O1, O2"),
    ("teaches: [O1, O2]", "teaches: [O1, O1]", "teaches: [O1, O1]", "modules[M1].teaches[#2]",
     "'O1' stands here twice"),
    ("serves: {O1: 1}", "serves: {O9: 1}", "serves: {O9: 1}", "task.criteria[arris].serves.O9",
     "no outcome of this file"),
    ("stage: fit\n      kind: rated", "stage: fitt\n      kind: rated", "stage: fitt",
     "task.criteria[arris].stage", "did you mean 'fit'?"),
    ("key: clean", "key: width", "- key: width", "task.criteria[width].key",
     "used twice (first on line 53)"),
    ("key: O2\n", "key: O1\n", "- key: O1", "outcomes[O1].key", "used twice (first on line 14)"),
    # what the engine refuses
    ("opening - 2 * joint", "opening - 2 * gap", "lower: opening - 2 * gap",
     "task.criteria[width].limits.lower", "there is no dimension “gap”"),
    ("opening - 2 * joint", "opening - ", "lower: opening -",
     "task.criteria[width].limits.lower", "at column 10"),
    ("opening - 2 * joint", "opening * joint", "lower: opening * joint",
     "task.criteria[width].limits.lower", "this comes out as area"),
    ("opening - 2 * joint", "7 in", "upper: 6 1/16 in", "task.criteria[width].limits.upper",
     "below the lower limit"),
    ("serves: {O1: 1}", "serves: {O1: 0}", "serves: {O1: 0}", "task.criteria[arris].serves.O1",
     "a number above 0"),
    ("lower: 24 h", "lower:", "lower:", "task.criteria[covered].limits", "write a lower limit"),
    ("met_from: 1", "met_from: 5", "met_from: 5", "task.criteria[arris].met_from", "from 1 to 1"),
    ("points: 1\n", "points: 0\n", "- points: 0", "task.criteria[arris].levels[#2].points",
     "more points than for the level before"),
    ("quantity: length", "quantity: mass", "unit: in", "task.criteria[width].unit",
     "write a unit of mass"),
    ("    joint: 1/8 in", "    mm: 1/8 in", "mm: 1/8 in", "task.dimensions.mm", "not like a unit"),
    ("  cut: 70 %\n", "", "band: 5 %", "pass_rule.band", "a band needs a cut"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "line", "field", "sentence"), ONE_FAULT)
def test_one_fault(old: str, new: str, line: str, field: str, sentence: str) -> None:
    source = changed((old, new))
    fault = only_fault(source)
    assert source.splitlines()[fault.line - 1].strip() == line
    assert fault.field == field
    assert sentence.lower() in fault.message.lower()


# Not YAML, or YAML that a program file may not use: the source, line, column, and the sentence.
NOT_PLAIN = [
    ("", 1, 1, "begin the file with the line 'format: bankermark program 1'"),
    ("- a\n", 1, 1, "begin the file with"),
    ("format: a\ncode:\tB\n\tc: d\n", 2, 6, "a tab stands here"),
    ("format: a\ntitle: b\x07c\n", 2, 9, "the unseen character U+0007"),
    ('format: a\ntitle: "b\\0c"\n', 2, 8, "the unseen character U+0000"),
    ('format: a\ntitle: "b\\uD800c"\n', 2, 8, "the unseen character U+D800"),
    ('format: a\ntitle: "b\\tc"\n', 2, 8, "a tab stands here"),
    ('format: a\ntitle: "b\\UFFFFFFFF"\n', 2, 1, "look for a wrong \\ in quotes"),
    ('format: a\ntitle: "b\\U00110000"\n', 2, 1, "look for a wrong \\ in quotes"),
    ('format: a\ntitle: "b\\xZZ"\n', 2, 12, "this is not YAML"),
    (b"format: a\ntitle: caf\xe9\n", 2, 11, "this is not UTF-8 text"),
    ("title: \ud800", 1, 8, "this is not UTF-8 text"),
    ("format: &a 1\n", 1, 9, "take out the anchor"),
    ("format: !!python/name:os.system x\n", 1, 9, "take out the tag"),
    ("format: !secret x\n", 1, 9, "take out the tag"),
    ("%YAML 1.1\n---\nformat: a\n", 2, 1, "take out the line that begins with %"),
    ("format: a\n---\nformat: b\n", 2, 1, "one program a file"),
    ("title: a: b\n", 1, 9, "put a text that holds ': ' between quotes"),
    ("title: @home\n", 1, 8, "put a text that begins with this sign between quotes"),
    ("title: 'x\n", 2, 1, "close the quote"),
    ("title: [a, b\n", 2, 1, "close the bracket"),
    ("a:\n  - 1\n b: 2\n", 3, 2, "line this up"),
    ("format: a\ncode\n", 3, 1, "write a name, a colon and a value"),
    ("[" * 13 + "]" * 13, 1, 13, "nested over 12 deep"),
    ("x" * 1_000_001, 1, 1, "over 1,000,000 bytes"),
]


@pytest.mark.parametrize(("source", "line", "column", "sentence"), NOT_PLAIN)
def test_not_plain_yaml(source: bytes | str, line: int, column: int, sentence: str) -> None:
    fault = faults_of(source)[0]
    assert (fault.line, fault.column, fault.field) == (line, column, "")
    assert sentence in fault.message


def test_an_alias_is_refused_where_it_stands() -> None:
    """So that parts that double each other nine times over are never built."""
    lines = ["a0: &a0 [x, x]"]
    lines += [f"a{n}: &a{n} [*a{n - 1}, *a{n - 1}]" for n in range(1, 10)]
    faults = faults_of("\n".join(lines))
    assert len(faults) == 10 + 18
    assert "repeats another part" in faults[2].message


def test_a_thousand_brackets_are_refused() -> None:
    assert "nested over 12 deep" in faults_of("[" * 5000 + "]" * 5000)[0].message


def test_tens_of_thousands_of_values_are_refused_before_they_are_read() -> None:
    fault = only_fault("a:\n" + "- b\n" * 20_001)
    assert "over 20,000 names and values" in fault.message


def test_a_file_full_of_faults_shows_the_first_hundred() -> None:
    with pytest.raises(ProgramFileError) as caught:
        read_program(SMALL + "".join(f"x{n}: 1\n" for n in range(150)), "bad.yaml")
    assert len(caught.value.faults) == 150
    assert caught.value.message.splitlines()[0].endswith("150 things to mend:")
    assert caught.value.message.splitlines()[-1] == "... and 50 more; mend these first."


def test_all_faults_of_a_file_are_named_at_once_in_order() -> None:
    source = changed(
        ("code: SILL", "code: sill"),
        ("minutes: 60", "minutes: long"),
        ("lower: 24 h", "lower: 24"),
        ("combine: mean", "combine: most"),
        ("hazard: Dust", "hazard:"),
    )
    assert [fault.field for fault in faults_of(source)] == [
        "code",
        "modules[M1].minutes",
        "task.cautions[#1].hazard",
        "task.criteria[covered].limits.lower",
        "pass_rule.assessors.combine",
    ]


def test_the_faults_that_the_engine_finds_in_several_criteria_are_named_at_once() -> None:
    source = changed(("opening - 2 * joint", "gap"), ("met_from: 1", "met_from: 5"))
    assert [fault.field for fault in faults_of(source)] == [
        "task.criteria[arris].met_from",
        "task.criteria[width].limits.lower",
    ]


def test_the_message_gives_file_line_column_field_and_what_to_write() -> None:
    with pytest.raises(ProgramFileError) as caught:
        read_program(changed(("minimum: 60 %", "minimum: 60")), "sill.yaml")
    assert caught.value.message == (
        "sill.yaml was not loaded; 1 thing to mend:\n"
        "sill.yaml:16:14: outcomes[O1].minimum: '60' does not do; "
        "write the percent sign: 60 %, or a fraction such as 2/3"
    )
    assert caught.value.field == "source"


@pytest.mark.parametrize("cut", range(0, len(SMALL), 97))
def test_a_file_cut_off_anywhere_is_refused_in_words(cut: int) -> None:
    assert faults_of(SMALL[:cut])[0].message
