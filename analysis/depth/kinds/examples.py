"""Owns worked examples for the page of keys: what a boat tows, and how boat.toml says so."""

from __future__ import annotations

EXAMPLES = (
    (
        "A diver on 30 lb braid",
        "Line named as on its label.",
        '[gear.diver]\nkind = "diver"\nline = "30 lb braid"\n',
    ),
    (
        "A diver on wire, copper or core",
        "Parts from the disc up. The log's line-out cuts the last one reached.",
        '[gear."wire diver"]\nkind = "diver"\nparts = [\n'
        '  { name = "wire", length = "200 ft", line = "30 lb wire" },\n'
        '  { name = "backing", line = "30 lb braid" },\n]\n',
    ),
    (
        "A diver that has tripped",
        "For the stretches in which it was towed on after its release let go.",
        '[gear."tripped diver"]\nkind = "diver"\nline = "30 lb braid"\ntripped = true\n',
    ),
    (
        "Ten colours of lead core",
        "`core`, `colours` (of 10 yards), `leader`, `leader_length` and `backing` stand for the "
        "parts.",
        '[gear.core]\nkind = "weighted line"\ncore = "27 lb lead core"\ncolours = 10\n'
        'leader = "15 lb mono"\nleader_length = "20 ft"\nbacking = "30 lb braid"\n',
    ),
    (
        "A weight clipped onto any line",
        "`at` is the line between it and the lure (the disc, on a diver's line). Ounces and pounds "
        "are those of lead on a scale.",
        '[gear."weighted core"]\nkind = "weighted line"\ncore = "27 lb lead core"\n'
        'clipped = [{ at = "60 ft", weight = "8 oz", drag_area = "6 cm2" }]\n',
    ),
    (
        "A keel weight ahead of the leader",
        "The weight stands at the upper end of the part named leader, whose length the log may "
        "replace.",
        '[gear.keel]\nkind = "flat line"\nparts = [\n'
        '  { name = "leader", length = "6 ft", line = "12 lb fluorocarbon", lump_weight = "3 oz", '
        'lump_drag_area = "3 cm2" },\n  { name = "line", line = "20 lb mono" },\n]\n',
    ),
    (
        "Two lines on one rigger",
        "Each is a gear of its own. Both say where lines are clipped on, measured along the cable "
        "from the ball up, and `fishes_at` which of them it is. `line_out` is the cable out.",
        '[gear."rigger upper"]\nkind = "rigger"\nball_weight = "10 lb"\nline = "20 lb mono"\n'
        'clips = ["0 ft", "20 ft"]\nfishes_at = "20 ft"\n',
    ),
    (
        "A free slider",
        "A second lure whose snap slides on the line of a rigger. It settles where the line stands "
        "upright, or lies at the ball where the rod pulls the line tight.",
        '[gear.slider]\nkind = "free slider"\nball_weight = "10 lb"\nline = "20 lb mono"\n'
        "rod_pull_n = 4.0\n",
    ),
    (
        "A planer with a weighted line",
        "`line_out` is the line behind the board, `to_planer` that from the rod to it.",
        '[gear.board]\nkind = "planer"\nto_planer = "80 ft"\n[gear.board.behind]\n'
        'kind = "weighted line"\ncore = "27 lb lead core"\ncolours = 3\n',
    ),
    (
        "Lures that dive, on any of these",
        "By the lure's name in the log. One of three: how deep it runs on a line-out, a line and a "
        "speed, from its maker or a trial; a word; or its areas. A lure that stands here runs "
        "below its line by what its lip pulls, on plain line, core, a diver's leader or a "
        "rigger's lead.",
        '[gear.plug]\nkind = "flat line"\nparts = [\n'
        '  { name = "line", line = "10 lb mono" },\n]\n'
        "[lures]\n"
        '"Green Plug" = { runs = { depth = "12 ft", line_out = "100 ft", line = "10 lb mono", '
        'speed = "2 mph" } }\n"Old Faithful" = { diving = "deep" }\n'
        '"Home Made" = { lift_area = "6 cm2", drag_area = "5 cm2", weight_n = -0.1 }\n',
    ),
)
"""Title, what to know, and the table of each."""
