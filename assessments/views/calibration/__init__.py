"""Pages of calibration: for the lead who authorises, and for the assessor who is compared."""
