"""Tests of the yarn room."""
