"""A small program file that holds one criterion of each kind; invented."""

SMALL = """\
format: bankermark program 1
code: SILL
version: 1
title: Sill repair
validity_months: 24
unit: in
modules:
  - key: M1
    title: Cutting
    kind: demonstration
    minutes: 60
    teaches: [O1, O2]
outcomes:
  - key: O1
    statement: Cuts the piece.
    minimum: 60 %
  - key: O2
    statement: Sets the piece.
task:
  title: One sill
  cautions:
    - hazard: Dust
      text: Cut wet.
      source: Site rules
  conditions:
    - name: Stone
      value: Sandstone
  dimensions:
    joint: 1/8 in
    opening: 6 in
  stages:
    - key: fit
      title: Dry fit
      hold_point: yes
    - key: set
      title: Setting
      hold_point: no
  criteria:
    - key: arris
      title: Arris
      stage: fit
      kind: rated
      critical: no
      not_applicable: yes
      weight: 1
      serves: {O1: 1}
      levels:
        - points: 0
          description: Broken
        - points: 1
          description: Whole
      met_from: 1
    - key: width
      title: Width
      stage: fit
      kind: measured
      critical: yes
      not_applicable: no
      weight: 1 1/2
      serves: {O1: 1, O2: 1/2}
      quantity: length
      unit: in
      readings: 2
      statistic: each
      limits:
        lower: opening - 2 * joint
        upper: 6 1/16 in
      limits_source: Set by the project
      instrument:
        name: Steel rule
        maximum_permissible_error: 1/128 in
        resolution: 1/64 in
        ends: 2
      decision_rule: guard band 1
      coverage_factor: 2
      minimum_ratio: 4
    - key: clean
      title: Clean
      stage: set
      kind: checked
      critical: no
      not_applicable: no
      weight: 1
      serves: {O2: 1}
      expected: yes
    - key: voids
      title: Hollow spots
      stage: set
      kind: counted
      critical: no
      not_applicable: no
      weight: 1
      serves: {O2: 1}
      what: hollow spots
      limits:
        upper: 0
    - key: covered
      title: Covered
      stage: set
      kind: timed
      critical: no
      not_applicable: no
      weight: 1
      serves: {O2: 1}
      limits:
        lower: 24 h
pass_rule:
  critical: yes
  outcome_minima: yes
  cut: 70 %
  band: 5 %
  guard_band: undecided
  assessors:
    required: 1
    combine: mean
"""


def changed(*changes: tuple[str, str]) -> str:
    """Return SMALL with each first text, which stands in it once, put in place of the second."""
    text = SMALL
    for old, new in changes:
        assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times in the sample"
        text = text.replace(old, new)
    return text
