"""The yarn: units, needles, gauge, geometry and the colour run."""
