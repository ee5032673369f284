"""How far assessors agree with each other, and one of them with scores agreed on beforehand."""

from assessments.evidence.agreement.calibration import Calibration, CalibrationRow, calibration
from assessments.evidence.agreement.section import agreement_section

__all__ = ["Calibration", "CalibrationRow", "agreement_section", "calibration"]
