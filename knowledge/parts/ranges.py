"""The range of each quantity that several models have: for JSON, for a link and for the cell of a table."""

from pydantic import Field

COLDEST_START_C, MILDEST_START_C = -50.0, 50.0
COLDEST_START = Field(ge=COLDEST_START_C, le=MILDEST_START_C)
COOLEST_SUMP_C, HOTTEST_SUMP_C = 20.0, 150.0
HOT_SUMP = Field(ge=COOLEST_SUMP_C, le=HOTTEST_SUMP_C)
SERVICE_INTERVAL = Field(ge=100, le=2_000_000)
TEMPERATURE = Field(ge=-60, le=200)
VISCOSITY = Field(ge=0.3, le=2_000_000)
COPPER_RATING = Field(pattern=r"^[1-4][a-e]$")
MOST_CONES = 3
CONES = Field(ge=1, le=MOST_CONES)
LEAST_RADIUS_MM, MOST_RADIUS_MM = 10.0, 300.0
RADIUS = Field(ge=LEAST_RADIUS_MM, le=MOST_RADIUS_MM)
HALF_ANGLE = Field(ge=3, le=20)
FACE_WIDTH = Field(ge=1, le=50)
FRICTION = Field(ge=0.005, le=0.5)
DETENT_FORCE = Field(ge=1, le=2000)
SHIFT_FORCE = Field(ge=1, le=20_000)
INERTIA = Field(ge=1e-6, le=10)
SPEED_DIFFERENCE = Field(ge=1, le=20_000)
SHIFTS = Field(ge=1, le=1000)
SHIFT_INTERVAL = Field(ge=0.1, le=3600)
