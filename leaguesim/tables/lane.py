"""A look at a lane: cells, paths, arrivals.

Declares columns only.
"""

from leaguesim.tables.column import Column

LANE_CELLS: dict[str, Column] = {
    "condition": Column("str", "", "condition's name"),
    "distance_ft": Column("float64", "ft", "middle of the cell, from the foul line"),
    "board": Column("int64", "board", "board from the right edge"),
    "film_units": Column("float64", "units", "oil film"),
    "friction": Column("float64", "", "friction of the reference ball at its slip there"),
}

WORN_CELLS: dict[str, Column] = {
    "condition": Column("str", "", "condition's name"),
    "game": Column("int64", "", "after so many games of the night; 0: before practice"),
    "distance_ft": LANE_CELLS["distance_ft"],
    "board": LANE_CELLS["board"],
    "film_units": Column("float64", "units", "mean oil film"),
}

PATHS: dict[str, Column] = {
    "condition": Column("str", "", "condition's name"),
    "style": Column("str", "", "style"),
    "hand": Column("str", "", "right or left"),
    "release": Column(
        "str", "", "'line', 'board right', 'board left', or 'usual miss 1' and so on"
    ),
    "distance_ft": Column("float64", "ft", "from the foul line"),
    "board": Column("float64", "board", "ball's centre, from the lane's right edge"),
}

ARRIVALS: dict[str, Column] = {
    "condition": Column("str", "", "condition's name"),
    "style": Column("str", "", "style"),
    "hand": Column("str", "", "right or left"),
    "ball": Column("str", "", "ball chosen"),
    "line_board": Column("float64", "board", "lay-down board, from the bowler's own edge"),
    "arrow_board": Column("float64", "board", "board at the arrows (15 ft), own edge"),
    "breakpoint_board": Column("float64", "board", "outermost board of the path, own edge"),
    "breakpoint_ft": Column("float64", "ft", "where the path is outermost"),
    "roll_start_ft": Column("float64", "ft", "where the ball rolls; beyond 60 it never does"),
    "entry_angle": Column("float64", "deg", "angle at the pins"),
    "speed_mph": Column("float64", "mph", "speed at the pins"),
    "offset_board": Column("float64", "board", "centre from head pin, toward own edge"),
    "outside_miss_board": Column(
        "float64", "board", "end of a ball a board wide at the arrows, outside, from the line's end"
    ),
    "inside_miss_board": Column(
        "float64", "board", "end of a ball a board wide at the arrows, inside, from the line's end"
    ),
}
