"""How far assessors agree with each other, and one of them with scores agreed on beforehand."""

from assessments.evidence.agreement.calibration import Calibration, CalibrationRow, calibration

__all__ = ["Calibration", "CalibrationRow", "calibration"]
