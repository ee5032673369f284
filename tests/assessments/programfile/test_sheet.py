"""The task sheet of a program file: read, written again, and each fault at its line."""

import pytest

from assessments.engine.tasksheet import SUMS, task_sheet
from assessments.programfile.compound import Field
from assessments.programfile.faults import Fault, ProgramFileError
from assessments.programfile.reading import read_program
from assessments.programfile.sheet import KINDS
from assessments.programfile.standard import standard_from_program
from assessments.programfile.writing import write_program
from tests.assessments.programfile.sources import changed

# One sum of each kind, in the canonical layout; the figures are invented.
SHEET = """\
  sheet:
    - sum: disc_reach
      unit: in
      disc: 4 1/2 in
      depth: opening / 6
    - sum: piece
      title: The piece
      unit: in
      width: opening
      height: 4 in
      depth: 3 in
      joint: joint
      back: joint
      proud: 1/16 in
    - sum: bed_mortar
      unit: in
      width: opening
      height: 4 in
      depth: 3 in
      joint: joint
      back: 0 in
      waste: 15 %
    - sum: joint_mortar
      unit: mm
      width: 10 mm
      depth: 25 mm
      length: 12000 mm
    - sum: lifts
      unit: mm
      depth: 25 mm
      thickness: 6 mm
    - sum: pin_hole
      unit: in
      rod: 3/8 in
      hole: joint * 4
      shows: 3/4 in
      end_gap: 1/8 in
    - sum: pin_grout
      unit: in
      rod: 1/4 in
      hole: 3 * joint
      length: 2 in
      count: 2
      waste: 1/3
    - sum: mass
      unit: in
      width: opening - joint
      height: 4 in
      depth: 3 1/2 in
      density: 140 1/2
      density_unit: lb/ft3
      density_source: Invented
      guide: niosh
      most: 5 1/2 lb
      most_source: Set by the yard
      note: |-
        Weigh it.
        Then lift it.
    - sum: vibration
      tools:
        - tool: Grinder
          m_s2: 7 1/2
          minutes: 30
      source: Invented figures
    - sum: silica
      work:
        - work: Cutting wet
          ug_m3: 60
          minutes: 90
      source: Invented levels
"""
STAGES = "  stages:\n    - key: fit"
SOURCE = changed((STAGES, SHEET + STAGES))


def with_change(old: str, new: str) -> str:
    """Return the sample with a text that stands in it once put in place of another."""
    assert SOURCE.count(old) == 1, f"{old!r} stands {SOURCE.count(old)} times in the sample"
    return SOURCE.replace(old, new)


def faults_of(source: str) -> list[Fault]:
    with pytest.raises(ProgramFileError) as caught:
        read_program(source, "bad.yaml")
    return caught.value.faults


def test_a_file_with_every_sum_is_written_again_byte_for_byte() -> None:
    document = read_program(SOURCE, "sheet.yaml").document
    assert [each["sum"] for each in document["task"]["sheet"]] == list(SUMS) == list(KINDS)
    assert write_program(document) == SOURCE


def test_inputs_are_stored_as_exact_texts_and_formulas() -> None:
    sheet = read_program(SOURCE, "sheet.yaml").document["task"]["sheet"]
    assert sheet[0] == {
        "sum": "disc_reach",
        "title": "",
        "unit": "in",
        "disc": "9/2",
        "depth": "opening / 6",
        "note": "",
    }
    assert (sheet[2]["waste"], sheet[3]["waste"], sheet[6]["waste"]) == ("0.15", None, "1/3")
    assert sheet[7]["most"] == {"value": "11/2", "unit": "lb"}
    assert sheet[7]["note"] == "Weigh it.\nThen lift it."
    assert sheet[8]["tools"] == [{"tool": "Grinder", "m_s2": "15/2", "minutes": 30}]


def test_the_sheet_that_is_sealed_can_be_worked_out() -> None:
    document = read_program(SOURCE, "sheet.yaml").document
    standard = standard_from_program(document)
    sealed = standard["about"]["task"]["sheet"]
    assert sealed == document["task"]["sheet"]
    found = task_sheet(sealed, standard["dimensions"])
    assert [each.sum for each in found] == list(SUMS)
    assert found[5].results[0] == ("Gap all round the rod", "1/16 in")


def test_a_task_needs_no_sheet() -> None:
    assert read_program(changed(), "small.yaml").document["task"]["sheet"] == []


def test_the_inputs_of_a_sum_are_those_that_the_engine_reads() -> None:
    """Whatever the file lets stand, the engine must know, and the other way round."""
    document = read_program(SOURCE, "sheet.yaml").document
    for number, row in enumerate(document["task"]["sheet"]):
        own: dict[str, Field] = dict(KINDS[row["sum"]])
        for name, field in own.items():
            kept = {key: value for key, value in row.items() if key != name}
            if field.required:
                with pytest.raises(ValueError, match=name):
                    task_sheet([kept], document["task"]["dimensions"])
            elif name not in ("most", "most_source"):  # both or neither
                assert task_sheet([kept], document["task"]["dimensions"]), (number, name)


# What is changed, the line at fault, the field, a part of the sentence.
FAULTS = [
    ("sum: lifts", "sum: lift", "- sum: lift", "[#5].sum", "did you mean 'lifts'?"),
    ("depth: 25 mm\n      thickness: 6 mm", "depth: 25 mm", "- sum: lifts", "[#5].thickness",
     "this is missing; write 'thickness: ' and a number and its unit"),
    ("thickness: 6 mm", "thickness: 6", "thickness: 6", "[#5].thickness", "write the unit too"),
    ("thickness: 6 mm", "thickness: 1/4 in", "thickness: 1/4", "[#5].thickness", "write it in mm"),
    ("thickness: 6 mm", "thickness: 0 mm", "thickness: 0", "[#5].thickness", "above 0"),
    ("thickness: 6 mm", "thickness: 6 mm\n      rod: 3 mm", "rod: 3 mm", "[#5].rod",
     "only a pin_hole or pin_grout sum has it"),
    ("thickness: 6 mm", "thickness: layer", "thickness: layer", "[#5].thickness",
     "there is no dimension “layer”; known: joint, opening"),
    ("thickness: 6 mm", "thickness: joint * joint", "thickness: joint", "[#5].thickness",
     "comes out as area: write a length"),
    ("thickness: 6 mm", "thickness: joint - 6", "thickness: joint", "[#5].thickness",
     "cannot join length and a plain number"),
    ("thickness: 6 mm", "thickness: joint - opening", "thickness: joint", "[#5].thickness",
     "write a length above 0"),
    ("thickness: 6 mm", "thickness: joint -", "thickness: joint", "[#5].thickness", "column"),
    ("unit: mm\n      depth: 25 mm\n      thickness", "depth: 25 mm\n      thickness",
     "- sum: lifts", "[#5].unit", "this is missing; write 'unit: '"),
    ("disc: 4 1/2 in", "disc: 1 1/2 in", "depth: opening / 6", "[#1].depth",
     "half its diameter deep: take a larger one"),
    ("rod: 3/8 in", "rod: 5/8 in", "hole: joint * 4", "[#6].hole", "a hole wider than the rod"),
    ("rod: 1/4 in", "rod: 3/8 in", "hole: 3 * joint", "[#7].hole", "with room for grout"),
    ("proud: 1/16 in", "proud: 0 - joint", "proud: 0", "[#2].proud", "cannot join"),
    ("proud: 1/16 in", "proud: joint - opening", "proud: joint", "[#2].proud", "0 or more"),
    ("count: 2", "count: 0", "count: 0", "[#7].count", "from 1 to 1,000"),
    ("waste: 15 %", "waste: 15", "waste: 15", "[#3].waste", "write the percent sign"),
    ("density: 140 1/2", "density: 0", "density: 0", "[#8].density", "above 0"),
    ("guide: niosh", "guide: nios", "guide: nios", "[#8].guide", "did you mean 'niosh'?"),
    ("      most_source: Set by the yard\n", "", "- sum: mass", "[#8]", "Write who set the most"),
    ("      most: 5 1/2 lb\n", "", "- sum: mass", "[#8]", "write the figure"),
    ("most: 5 1/2 lb", "most: 5 1/2 in", "most: 5 1/2 in", "[#8].most", "write one of: lb, kg"),
    ("m_s2: 7 1/2", "m_s2: -7", "m_s2: -7", "[#9].tools[#1].m_s2", "0 or more"),
    ("minutes: 30\n", "minutes: 1500\n", "minutes: 1500", "[#9].tools[#1].minutes", "1 to 1,440"),
    ("      source: Invented figures\n", "", "- sum: vibration", "[#9].source", "is missing"),
    ("        - work: Cutting wet", "        - work: Cutting dry\n          ug_m3: 9\n"
     "          minutes: 1400\n        - work: Cutting wet", "- work: Cutting dry", "[#10].work",
     "more than 24 hours"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "line", "field", "message"), FAULTS)
def test_one_fault(old: str, new: str, line: str, field: str, message: str) -> None:
    source = with_change(old, new)
    [fault] = faults_of(source)
    assert fault.field == f"task.sheet{field}"
    assert message in fault.message
    assert source.splitlines()[fault.line - 1].strip().startswith(line)


def test_the_faults_of_several_sums_and_criteria_are_named_at_once() -> None:
    source = with_change("thickness: 6 mm", "thickness: gap").replace("rod: 3/8", "rod: 5/8")
    source = source.replace("met_from: 1", "met_from: 5")
    assert [fault.field for fault in faults_of(source)] == [
        "task.sheet[#5].thickness",
        "task.sheet[#6].hole",
        "task.criteria[arris].met_from",
    ]


def test_a_lowest_level_that_is_met_is_refused_at_its_line() -> None:
    source = changed(("met_from: 1", "met_from: 0"))
    [fault] = faults_of(source)
    assert fault.field == "task.criteria[arris].met_from"
    assert "write a whole number from 1 to 9" in fault.message
    assert source.splitlines()[fault.line - 1].strip() == "met_from: 0"
