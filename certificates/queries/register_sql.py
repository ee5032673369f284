"""The register of a crew in one query: filtered, sorted, counted and cut to a page in the database.

It takes what ``qualified_sql.HELD`` takes and, named as here: ``employers`` and ``today`` (who is
on the crew), ``family`` (a program, any version of it), ``standards`` (those whose range covers
what is asked for), ``text``, ``word``, ``words`` (in order of sorting), ``size`` and ``page``.
"""

from certificates.queries.qualified_sql import HELD

# Every order ends with what no two rows share, so that pages neither repeat nor lose a row.
_REST = "full_name, holder_id, code NULLS LAST, provider_id"
ORDERS = {
    "name": _REST,
    "program": f"code NULLS LAST, {_REST}",
    "state": f"array_position(%(words)s::text[], word), {_REST}",
    "valid_until": f"valid_until NULLS LAST, {_REST}",
    "confirm_by": f"confirm_by NULLS LAST, {_REST}",
}

_ROWS = f"""
WITH {HELD},
crew AS MATERIALIZED (
    SELECT DISTINCT ON (m.person_id) m.person_id, p.full_name, o.name AS employer
    FROM training_employment m
    JOIN training_person p ON p.id = m.person_id
    JOIN training_organisation o ON o.id = m.organisation_id
    WHERE m.organisation_id = ANY(%(employers)s::bigint[]) AND m.since <= %(today)s
        AND (m.until IS NULL OR m.until >= %(today)s)
    ORDER BY m.person_id, m.since DESC, m.id
),
families AS MATERIALIZED (
    SELECT g.id AS program_id, g.code, g.title, g.version, g.provider_id,
        first_value(g.id) OVER (
            PARTITION BY g.provider_id, g.code ORDER BY g.version DESC) AS family
    FROM training_program g
),
best AS MATERIALIZED (
    SELECT DISTINCT ON (h.holder_id, f.family) h.holder_id, f.family, h.program_id, h.word,
        h.counts, h.record_id, h.number, h.issued_on, h.valid_until, h.confirm_by, h.counts_until
    FROM held h JOIN families f ON f.program_id = h.program_id
    WHERE (%(family)s::uuid IS NULL OR f.family = %(family)s::uuid)
        AND (%(standards)s::uuid[] IS NULL OR h.standard_id = ANY(%(standards)s::uuid[]))
    ORDER BY h.holder_id, f.family, h.counts DESC,
        CASE WHEN h.counts THEN coalesce(h.counts_until, 'infinity') END DESC NULLS LAST,
        coalesce(h.valid_until, 'infinity') DESC, h.issued_at DESC, h.record_id
),
-- Apart, so that results are looked up only for who has no record of a program.
blank AS MATERIALIZED (
    SELECT e.id AS enrolment_id, e.person_id, e.state, c.site_id, f.family
    FROM training_enrolment e
    JOIN training_courserun c ON c.id = e.run_id
    JOIN families f ON f.program_id = c.program_id
    WHERE e.person_id = ANY(%(people)s::bigint[]) AND %(standards)s::uuid[] IS NULL
        AND (%(family)s::uuid IS NULL OR f.family = %(family)s::uuid)
        AND NOT EXISTS (
            SELECT 1 FROM best b WHERE b.holder_id = e.person_id AND b.family = f.family)
),
unrecorded AS (
    -- Met once stays met, whatever a later attempt came to. An open attempt is no business of
    -- an employer, and whoever withdrew before anything was decided has nothing to show.
    SELECT b.person_id, b.family,
        CASE min(array_position(ARRAY['met', 'not_yet_met', 'incomplete'], d.result::text))
            WHEN 1 THEN 'awaits_record' WHEN 2 THEN 'not_yet_met' WHEN 3 THEN 'incomplete'
            ELSE 'no_result' END AS word
    FROM blank b
    JOIN training_site s ON s.id = b.site_id
    JOIN zones z ON z.time_zone = s.time_zone
    JOIN training_enrolment e ON e.id = b.enrolment_id AND e.enrolled_at <= z.moment
    LEFT JOIN assessments_attempt a ON a.enrolment_id = e.id
    LEFT JOIN assessments_decision d ON d.attempt_id = a.id AND d.decided_at <= z.moment
        AND NOT EXISTS (SELECT 1 FROM assessments_decision x
            WHERE x.replaces_id = d.id AND x.decided_at <= z.moment)
    GROUP BY b.person_id, b.family
    HAVING bool_or(b.state = 'enrolled') OR count(d.id) > 0
),
shown AS (
    SELECT * FROM best
    UNION ALL
    SELECT u.person_id, u.family, u.family, u.word, false, NULL, NULL, NULL, NULL, NULL, NULL
    FROM unrecorded u
),
everybody AS (
    SELECT c.person_id AS holder_id, c.full_name, c.employer, n.family, n.program_id,
        coalesce(n.word, 'nothing') AS word, coalesce(n.counts, false) AS counts,
        n.record_id, n.number, n.issued_on, n.valid_until, n.confirm_by, n.counts_until
    FROM crew c LEFT JOIN shown n ON n.holder_id = c.person_id
    WHERE n.family IS NOT NULL OR %(standards)s::uuid[] IS NULL
),
numbered AS (
    SELECT DISTINCT r.holder_id, f.family
    FROM certificates_record r
    JOIN assessments_decision d ON d.id = r.decision_id
    JOIN assessments_attempt a ON a.id = d.attempt_id
    JOIN training_enrolment e ON e.id = a.enrolment_id
    JOIN training_courserun c ON c.id = e.run_id
    JOIN families f ON f.program_id = c.program_id
    WHERE %(text)s::text IS NOT NULL AND r.holder_id = ANY(%(people)s::bigint[])
        AND r.number ILIKE %(text)s
),
found AS MATERIALIZED (
    SELECT y.* FROM everybody y
    WHERE %(text)s::text IS NULL OR y.full_name ILIKE %(text)s OR EXISTS (
        SELECT 1 FROM numbered n WHERE n.holder_id = y.holder_id AND n.family = y.family)
),
-- With a program chosen, who has nothing of it is counted, and shown when asked for.
chosen AS (
    SELECT * FROM found
    WHERE word = %(word)s
        OR (%(word)s = '' AND (%(family)s::uuid IS NULL OR word <> 'nothing'))
)
"""

_COLUMNS = """
    w.holder_id, w.full_name, w.employer, f.code, f.title, f.version, f.provider_id,
    w.word, w.counts, w.record_id, w.number, w.issued_on, w.valid_until, w.confirm_by,
    w.counts_until
"""


def page_sql(order: str) -> str:
    """Return the query of one page: its rows, each with the totals by word as jsonb before it.

    There is always a row, so that the totals are told even when no row is; its fields are null
    then. A page after the last is the last. KeyError for an order not in ORDERS.
    """
    return f"""{_ROWS},
    page AS (
        SELECT {_COLUMNS} FROM chosen w LEFT JOIN families f ON f.program_id = w.program_id
        ORDER BY {ORDERS[order]} LIMIT %(size)s
        OFFSET greatest(least(%(page)s, (SELECT (count(*) - 1) / %(size)s + 1 FROM chosen)) - 1, 0)
            * %(size)s
    )
    SELECT t.totals, p.* FROM (
        SELECT coalesce(jsonb_object_agg(word, number), '{{}}') AS totals
        FROM (SELECT word, count(*) AS number FROM found GROUP BY word) n
    ) t LEFT JOIN page p ON true
    ORDER BY {ORDERS[order]}
    """


def every_sql(order: str) -> str:
    """Return the query of all rows, for a file. KeyError for an order not in ORDERS."""
    return f"""{_ROWS}
    SELECT {_COLUMNS} FROM chosen w LEFT JOIN families f ON f.program_id = w.program_id
    ORDER BY {ORDERS[order]}
    """
