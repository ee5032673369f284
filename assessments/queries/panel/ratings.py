"""A panel's judgements as tables, from its document: for the report and for spreadsheets."""

from collections.abc import Iterable, Mapping
from typing import Any

from assessments.engine.numbers import decimal_text, exact
from assessments.queries.panel.asked import CELLS, GROUPS, LIMITS, cell_of, cell_title

Document = Mapping[str, Any]
Table = dict[str, Any]
LIMIT_TITLES = {
    "least_cut": "Lowest cut, %",
    "most_cut": "Highest cut, %",
    "least_fail": "Lowest share not meeting it, %",
    "most_fail": "Highest share not meeting it, %",
}
UNITS = {"angoff": "share in %", "ebel": "cell of the grid", "borderline": "rating, 1 to 5"}


def round_tables(document: Document, round: Mapping[str, Any]) -> list[Table]:
    """Return the judgements that stood at the end of a round: a row an item, a column a judge.

    Shares are in percent; an empty cell is a judgement that was not made.
    """
    standing = _standing(round)
    judges = sorted({judge for judge, _, _ in standing}, key=lambda name: (len(name), name))
    if not judges:
        return []
    unit = UNITS.get(document["method"], "group")
    number = round["number"]
    name = f"Round {number}" + (", for training" if number == 0 else "")
    items = [
        (item["title"], [_shown(standing.get((j, item["kind"], item["key"]))) for j in judges])
        for item in document["items"]
    ]
    cells = [
        (cell_title(cell), [_shown(standing.get((j, "cell", cell))) for j in judges])
        for cell in CELLS
    ]
    limits = [
        (
            LIMIT_TITLES[limit],
            [_percent((standing.get((j, "limits", "limits")) or {}).get(limit)) for j in judges],
        )
        for limit in LIMITS
    ]
    parts = [
        ("judgements", f"{name}: {unit}", "What was judged", items),
        ("cells", f"{name}: share for each cell, in %", "Cell", _given(cells)),
        ("limits", f"{name}: limits for the sense check", "Limit", _given(limits)),
    ]
    return [
        {
            "key": f"round_{number}_{key}",
            "title": title,
            "columns": [first, *(f"Judge {judge}" for judge in judges)],
            "rows": [[row, *values] for row, values in rows],
        }
        for key, title, first, rows in parts
        if rows
    ]


def ratings_tables(document: Document) -> list[Table]:
    """Return the judgements of every round, then all that was ever entered, corrections too."""
    tables = [table for round in document["rounds"] for table in round_tables(document, round)]
    return [*tables, _everything(document)]


def _everything(document: Document) -> Table:
    titles = {(item["kind"], item["key"]): item["title"] for item in document["items"]}
    rows = []
    for round in document["rounds"]:
        replaced = {row["replaces"] for row in round["judgements"]}
        for row in round["judgements"]:
            kind, key = row["subject"]["kind"], row["subject"]["key"]
            rows.append(
                [
                    round["number"],
                    f"Judge {row['judge']}",
                    kind,
                    key,
                    titles.get((kind, key)),
                    _said(row["value"]),
                    row["note"] or None,
                    row["made_at"],
                    "no" if row["id"] in replaced else "yes",
                ]
            )
    columns = ["Round", "Judge", "Kind", "Key", "Title", "Value", "Note", "Entered at", "Stands"]
    return {"key": "everything", "title": "All judgements", "columns": columns, "rows": rows}


def _standing(round: Mapping[str, Any]) -> dict[tuple[str, str, str], dict[str, Any]]:
    """Return what stood at the end: by judge, kind and key."""
    replaced = {row["replaces"] for row in round["judgements"]}
    return {
        (row["judge"], row["subject"]["kind"], row["subject"]["key"]): row["value"]
        for row in round["judgements"]
        if row["id"] not in replaced
    }


def _given(rows: Iterable[tuple[str, list[Any]]]) -> list[tuple[str, list[Any]]]:
    return [(title, values) for title, values in rows if any(v is not None for v in values)]


def _shown(value: Mapping[str, Any] | None) -> str | int | None:
    if value is None:
        return None
    if "share" in value:
        return _percent(value["share"])
    if "rating" in value:
        return int(value["rating"])
    if "group" in value:
        return GROUPS[value["group"]]
    return cell_title(cell_of(value))


def _said(value: Mapping[str, Any]) -> str | int | None:
    """Return a value for the list of all: a share stays the exact share that was entered."""
    if "share" in value:
        return str(value["share"])
    if "least_cut" in value:
        return "; ".join(f"{LIMIT_TITLES[name]}: {_percent(value[name])}" for name in LIMITS)
    return _shown(value)


def _percent(share: str | None) -> str | None:
    """Return a share in percent, as sections write numbers: at most four places."""
    if share is None:
        return None
    text = decimal_text(exact(share) * 100, 4)
    return text.rstrip("0").rstrip(".")
