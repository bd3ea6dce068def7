"""Small pictures for the questions of a new project, drawn in characters.

Why: a knitter knows her knitting, not our words for it; a picture of what is
asked beats a definition.  At most 36 columns wide, so that they fit beside the
questions on a screen of 80.
"""

NAME = """\
   ┌───────────────┐
   │  Red hat      │
   │  for the hut  │
   └───────┬───────┘
           │   the tag on your
           │   knitting"""

STITCHES = """\
 beginning of the round
        ▼
   v v v│v v v v
  v  ←  │       v   count every
  v             v   stitch once
  v             v   around
   v v v v v v v"""

REPEAT_LENGTH = """\
  red   blue  white red   blue
  ████▒▒▒▒▒▒░░░░░░████▒▒▒▒▒▒░░
  │                │
  └── one repeat ──┘
  Lay the yarn out, relaxed, and
  measure from where a colour
  begins to where it begins again."""

REPEATS = """\
  1 a round       2 a round
   ▒▒▒▒▒▒▒         ▒▒▒▒████
  ▒       █       ░       ░
  ▒       █       ░       ░
   ░░░░░░█         ████▒▒▒▒
  every colour    every colour
  once around     twice around"""

NEEDLE = """\
      ┌────────────────────
   <══╡         ) ) ) ) )
      └────────────────────
   the size on the needle or
   its gauge: 4.5mm, US 7, UK 7"""

ROUNDS = """\
  60 ┤ v v v v v v v   bind off
     ┤ v v v v v v v
   2 ┤ v v v v v v v
   1 ┤ v v v v v v v   cast on"""

TOLERANCE = """\
        :    │    :
        :    ●    :    in place
        :   ●│    :    fine
     ●  :    │    :    too far
        └─ ± 3 ───┘"""

MULTIPLE = """\
   ─ ─ v v ─ ─ v v ─ ─ v v
   └──4──┘ └──4──┘ └──4──┘
   ribbing of 2 and 2 repeats
   over 4: type 4.
   Plain knitting: type 1."""

OWNED = """\
   <═══════  4 mm
   <═══════  4.5 mm
   <═══════  5 mm
   parted by commas"""

GAUGE = """\
   ├─── 10 cm or 4 in ───┤
   v v v v v v v v v v v v
   count the stitches across:
   20 st/10cm or 20 st/4in"""

WORKED = """\
   round         flat
    →→→→         ←←←←←←← 3
   ↑    ↓      2 →→→→→→→
    ←←←←         ←←←←←←← 1
   no: round, yes: flat"""
