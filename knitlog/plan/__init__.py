"""Before casting on: stitch counts, yarn needed, joins."""
