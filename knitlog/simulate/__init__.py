"""Knitters that never lived: seeded logs for demos, calibration and scoring."""
