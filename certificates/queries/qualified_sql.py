"""The one set of SQL that says how every record stands on a day, and until when it counts.

``HELD`` is a list of common table expressions, to be followed by a SELECT from ``held``. It takes
``people`` or ``records`` (arrays of keys, or null for all), and for every time zone of a site
(``zones``) the instant up to which facts are known (``moments``) and the day there (``days``).
``listed`` leaves out what was not issued yet and what another record stands in the place of.

It answers as ``standing_of`` and the engine's ``kept`` do; a test compares them on drawn histories.
The chain of confirmations needs no loop here. Each asks that the day due has come to at least
``needs``: the later of the day worked, and of the signature less the grace. Taken in the order of
``needs``, what all earlier ones reach is the day due, and the first that asks for more breaks it.
"""

HELD = """
zones AS (
    SELECT * FROM unnest(%(zones)s::text[], %(moments)s::timestamptz[], %(days)s::date[])
        AS z (time_zone, moment, day)
),
base AS MATERIALIZED (
    SELECT r.id AS record_id, r.number, r.provider_id, r.holder_id, r.decision_id,
        r.issued_at, r.valid_until, d.attempt_id, a.standard_id, c.program_id,
        s.time_zone, z.moment, z.day,
        next.issued_at <= z.moment AS replaced, anew.id AS anew_id,
        (r.issued_at AT TIME ZONE s.time_zone)::date AS issued_on,
        -- A correction goes on with the chain of the first record of its decision.
        (CASE WHEN r.replaces_id IS NULL THEN r.issued_at ELSE (
            SELECT min(f.issued_at) FROM certificates_record f WHERE f.decision_id = r.decision_id
        ) END AT TIME ZONE s.time_zone)::date AS begun_on
    FROM certificates_record r
    JOIN assessments_decision d ON d.id = r.decision_id
    JOIN assessments_attempt a ON a.id = d.attempt_id
    JOIN training_enrolment e ON e.id = a.enrolment_id
    JOIN training_courserun c ON c.id = e.run_id
    JOIN training_site s ON s.id = c.site_id
    JOIN zones z ON z.time_zone = s.time_zone
    LEFT JOIN certificates_record next ON next.replaces_id = r.id
    LEFT JOIN assessments_decision anew ON anew.replaces_id = d.id AND anew.decided_at <= z.moment
    WHERE (%(people)s::bigint[] IS NULL OR r.holder_id = ANY(%(people)s::bigint[]))
        AND (%(records)s::uuid[] IS NULL OR r.id = ANY(%(records)s::uuid[]))
        AND (NOT %(listed)s
            OR (r.issued_at <= z.moment AND (next.issued_at <= z.moment) IS NOT TRUE))
),
rules AS MATERIALIZED (
    SELECT s.id AS standard_id,
        (s.document #>> '{about,qualification,continuity,every_months}')::int AS months,
        (s.document #>> '{about,qualification,continuity,grace_days}')::int AS grace
    FROM assessments_sealedstandard s
    WHERE s.id IN (SELECT standard_id FROM base)
        AND jsonb_typeof(s.document #> '{about,qualification,continuity}') = 'object'
),
ruled AS MATERIALIZED (
    SELECT b.record_id, b.attempt_id, b.moment, b.day, u.months, u.grace,
        (b.begun_on + make_interval(months => u.months))::date AS first_due
    FROM base b JOIN rules u ON u.standard_id = b.standard_id
),
confirmed AS (
    SELECT u.record_id, u.first_due, greatest(c.worked_on, c.signed_on - u.grace) AS needs,
        (c.worked_on + make_interval(months => u.months))::date AS reaches
    FROM ruled u
    JOIN certificates_confirmation c ON c.attempt_id = u.attempt_id AND c.signed_on <= u.day
    LEFT JOIN certificates_retraction t ON t.confirmation_id = c.id AND t.at <= u.moment
    WHERE t.id IS NULL
),
stepped AS (
    SELECT record_id, first_due, needs, reaches,
        greatest(first_due, max(reaches) OVER (PARTITION BY record_id ORDER BY needs
            ROWS BETWEEN UNBOUNDED PRECEDING AND 1 PRECEDING)) AS due_then
    FROM confirmed
),
carried AS (
    SELECT record_id, coalesce(min(due_then) FILTER (WHERE needs > due_then),
        greatest(min(first_due), max(reaches))) AS due
    FROM stepped GROUP BY record_id
),
changed AS (
    SELECT DISTINCT ON (c.record_id) c.record_id, c.change
    FROM certificates_statuschange c
    JOIN base b ON b.record_id = c.record_id AND c.at <= b.moment
    ORDER BY c.record_id, c.number DESC
),
doubted AS (
    SELECT DISTINCT b.record_id FROM certificates_doubt o
    JOIN base b ON b.record_id = o.record_id
    JOIN certificates_keycompromise k ON k.id = o.compromise_id AND k.at <= b.moment
),
joined AS (
    SELECT b.*, coalesce(n.due, u.first_due) AS due, u.grace,
        CASE WHEN b.issued_at > b.moment THEN 'not_issued'
            WHEN g.change = 'withdrawn' THEN 'withdrawn'
            WHEN b.replaced THEN 'replaced'
            WHEN b.anew_id IS NOT NULL THEN 'withdrawn'
            WHEN g.change = 'suspended' THEN 'suspended'
            WHEN o.record_id IS NOT NULL THEN 'doubtful' END AS barred
    FROM base b
    LEFT JOIN ruled u ON u.record_id = b.record_id
    LEFT JOIN carried n ON n.record_id = b.record_id
    LEFT JOIN changed g ON g.record_id = b.record_id
    LEFT JOIN doubted o ON o.record_id = b.record_id
),
worded AS (
    SELECT j.*, coalesce(j.barred,
        CASE WHEN j.valid_until < j.day THEN 'lapsed'
            WHEN j.due + j.grace < j.day THEN 'not_confirmed'
            -- A confirmation would not carry it past its own last day: none is asked for.
            WHEN j.valid_until <= j.due OR j.due - %(due_soon)s > j.day OR j.due IS NULL
                THEN CASE WHEN j.valid_until - j.day <= %(soon)s THEN 'lapses_soon'
                    ELSE 'current' END
            WHEN j.due < j.day THEN 'in_grace'
            ELSE 'confirmation_due' END) AS word
    FROM joined j
),
held AS (
    SELECT w.*,
        w.word IN ('current', 'lapses_soon', 'confirmation_due', 'in_grace') AS counts,
        CASE WHEN w.valid_until <= w.due THEN NULL ELSE w.due END AS confirm_by,
        w.begun_on AS counts_from,
        CASE WHEN w.barred IS NOT NULL THEN w.begun_on - 1
            ELSE least(w.valid_until, w.due + w.grace) END AS counts_until
    FROM worded w
)
"""

# The rows of ``Held``, in the order of its fields.
EVERY_HELD = f"""
WITH {HELD}
SELECT h.holder_id, p.full_name, h.record_id, h.number, h.attempt_id, h.program_id,
    h.provider_id, g.code, g.title, g.version, h.standard_id, h.word, h.counts,
    h.issued_on, h.valid_until, h.confirm_by, h.counts_from, h.counts_until
FROM held h
JOIN training_person p ON p.id = h.holder_id
JOIN training_program g ON g.id = h.program_id
ORDER BY p.full_name, h.holder_id, g.code, g.version DESC, h.issued_at DESC, h.record_id
"""
