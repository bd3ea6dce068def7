"""Before casting on: the colour run, yarn per stitch, stitch counts, joins, the fabric.

Pure arithmetic with honest spread; nothing here reads a journal or draws a screen.
"""
