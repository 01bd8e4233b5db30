"""Conversions to SI and the regulation dimensions of lane, ball and pins, with their source.

Inside the package everything is SI; boards, feet, mph, rpm, mL and oil units live at the edges and
carry the unit in their name.  GB = the US governing body's Equipment Specifications and
Certifications Manual (United States Bowling Congress).
"""

from typing import Final

# Standard gravity (ISO 80000-3; CGPM 1901). [m/s2]
G_MPS2: Final = 9.80665

IN_M: Final = 0.0254  # exact (international inch)
FT_M: Final = 0.3048  # exact (international foot)
MPH_MPS: Final = 0.44704  # exact (international mile per hour)
LB_KG: Final = 0.45359237  # exact (international pound)
UIN_M: Final = 0.0254e-6  # one microinch [m]
RPM_RADPS: Final = 0.10471975511965977  # 2 pi / 60
DEG_RAD: Final = 0.017453292519943295  # pi / 180

# Lane (GB): 60 ft foul line to head pin, 41.5 in wide, 39 boards.
LANE_LENGTH_FT: Final = 60.0
LANE_LENGTH_M: Final = LANE_LENGTH_FT * FT_M
LANE_WIDTH_IN: Final = 41.5
BOARDS: Final = 39
BOARD_M: Final = LANE_WIDTH_IN / BOARDS * IN_M
CENTRE_BOARD: Final = 20.0
CELLS_FT: Final = 60  # film cells between foul line and head pin, one foot each
HEAD_PIN_TO_PIT_IN: Final = 34.19  # GB

# Pins (GB): spots 12 in apart, rows 10.392 in.
PIN_SPACING_M: Final = 12.0 * IN_M
PIN_ROW_M: Final = 10.392 * IN_M

# Ball (GB).
BALL_DIAMETER_MIN_IN: Final = 8.500
BALL_DIAMETER_MAX_IN: Final = 8.595
BALL_DIAMETER_IN: Final = 8.5475  # the middle of the legal range; R = 4.27375 in
BALL_MASS_MAX_LB: Final = 16.0
RG_MIN_IN: Final = 2.46
RG_MAX_IN: Final = 2.80
DIFFERENTIAL_MAX_IN: Final = 0.060
FRICTION_MAX: Final = 0.32
ROUGHNESS_MAX_UIN: Final = 50.0

# Oil: one unit is 0.0167 cm3 per square foot (GB/industry convention).
UNIT_ML_PER_FT2: Final = 0.0167
UNIT_M: Final = UNIT_ML_PER_FT2 * 1e-6 / FT_M**2  # film thickness of one unit [m], 0.1798 um
BOARD_FOOT_FT2: Final = LANE_WIDTH_IN / BOARDS / 12.0
UNIT_ML_PER_CELL: Final = UNIT_ML_PER_FT2 * BOARD_FOOT_FT2  # one unit, one board, one foot [mL]
