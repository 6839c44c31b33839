"""What wear and a wrong pairing do to a ring: gap lost, crests widened, film cut slower, faces that do not meet."""

from math import radians, sin, tan

from knowledge.physics.limits import OutOfRange, check_positive, check_within
from knowledge.physics.wiping import STEEPEST_HALF_ANGLE_DEG

BLUNTEST_PROFILE_DEG = 170.0


def normal_wear_mm(*, gap_lost_mm: float, half_angle_deg: float) -> float:
    """Material worn off the faces, measured square to them, when the axial gap has closed by a given amount.

    s = g·sin a

    Ring and cone wear count together. Valid for a gap loss not negative and half angles above 0 and up to 45°;
    outside, raises OutOfRange.

    Args:
        gap_lost_mm: g, axial gap when new minus axial gap now [mm].
        half_angle_deg: a, between cone surface and axis [°].

    Raises:
        OutOfRange: a value out of the ranges above, or not a number.

    Sources: plane geometry; checked by golden case plane-geometry--wear-of-0.5-mm-gap.

    >>> round(normal_wear_mm(gap_lost_mm=0.5, half_angle_deg=6.5), 4)
    0.0566
    """
    check_within(quantity="gap lost", value=gap_lost_mm, low=0.0, unit="mm")
    return gap_lost_mm * sin(_half_angle("half angle", half_angle_deg))


def gap_lost_mm(*, normal_wear_mm: float, half_angle_deg: float) -> float:
    """Axial gap that closes when the faces wear by a given amount: the inverse of normal_wear_mm.

    g = s / sin a

    Valid and refused as normal_wear_mm.

    Args:
        normal_wear_mm: s, square to the faces [mm].
        half_angle_deg: a, between cone surface and axis [°].

    Raises:
        OutOfRange: a value out of range, or not a number.

    Sources: plane geometry; checked by golden case plane-geometry--gap-lost-at-12.

    >>> round(gap_lost_mm(normal_wear_mm=0.1, half_angle_deg=6.5), 3)
    0.883
    """
    check_within(quantity="normal wear", value=normal_wear_mm, low=0.0, unit="mm")
    return normal_wear_mm / sin(_half_angle("half angle", half_angle_deg))


def crest_width_mm(
    *, new_crest_width_mm: float, normal_wear_mm: float, profile_angle_deg: float, pitch_mm: float
) -> float:
    """Width of a thread crest after wear has cut some height off its V.

    w' = w + 2·s·tan(P/2)

    Valid for wear not negative, a profile angle above 0 and up to 170° and crests that leave a groove, w' < pitch;
    outside, raises OutOfRange.

    Args:
        new_crest_width_mm: w of the new ring [mm].
        normal_wear_mm: s of the ring alone, square to the face [mm].
        profile_angle_deg: P, included angle between the flanks of a crest [°].
        pitch_mm: from one crest to the next [mm].

    Raises:
        OutOfRange: a value out of the ranges above, or the groove worn away.

    Sources: plane geometry; checked by golden case plane-geometry--crest-of-60.

    >>> round(crest_width_mm(new_crest_width_mm=0.1, normal_wear_mm=0.0566, profile_angle_deg=60, pitch_mm=0.6), 4)
    0.1654
    """
    check_positive(quantity="new crest width", value=new_crest_width_mm, unit="mm")
    check_within(quantity="normal wear", value=normal_wear_mm, low=0.0, unit="mm")
    check_positive(quantity="pitch", value=pitch_mm, unit="mm")
    check_within(
        quantity="profile angle",
        value=profile_angle_deg,
        low=0.0,
        high=BLUNTEST_PROFILE_DEG,
        unit="°",
        low_included=False,
    )
    worn_mm = new_crest_width_mm + 2.0 * normal_wear_mm * tan(radians(0.5 * profile_angle_deg))
    if not worn_mm < pitch_mm:
        raise OutOfRange(quantity="crest width after wear", value=worn_mm, low=0.0, high=pitch_mm, unit="mm")
    return worn_mm


def wiping_time_ratio(*, new_crest_width_mm: float, worn_crest_width_mm: float) -> float:
    """How many times longer a ring with widened crests takes to cut through the same oil film.

    t'/t = (w'/w)³

    One factor for each of the two widths in the strip formula, one for the pressure that the wider crest halves when
    it is twice as wide. Valid at the same pitch, force, oil and end film, and for crests that grew; else, raises
    OutOfRange.

    Args:
        new_crest_width_mm: w [mm].
        worn_crest_width_mm: w' at the same pitch, w or more [mm].

    Raises:
        OutOfRange: a width not positive and finite, or the worn one below the new one.

    Sources: cameron-1966 (strip formula of wiping.wiping_time_s); checked by golden case
        cameron-1966--crest-0.10-to-0.165.

    >>> round(wiping_time_ratio(new_crest_width_mm=0.1, worn_crest_width_mm=0.3), 6)
    27.0
    """
    check_positive(quantity="new crest width", value=new_crest_width_mm, unit="mm")
    check_within(quantity="worn crest width", value=worn_crest_width_mm, low=new_crest_width_mm, unit="mm")
    return (worn_crest_width_mm / new_crest_width_mm) ** 3


def taper_gap_mm(*, ring_half_angle_deg: float, cone_half_angle_deg: float, face_width_mm: float) -> float:
    """Gap left at one end of the face when ring and cone are not of the same angle and touch at the other end.

    g = b·tan|a1 - a2|

    A ring that opens wider than the cone inside it touches at the small end. Valid for half angles above 0 and up
    to 45°; outside, raises OutOfRange.

    Args:
        ring_half_angle_deg: a1 [°].
        cone_half_angle_deg: a2 [°].
        face_width_mm: b, along the cone surface [mm].

    Raises:
        OutOfRange: a value out of the ranges above, or not a number.

    Sources: plane geometry; checked by golden case plane-geometry--half-a-degree-over-8-mm.

    >>> round(taper_gap_mm(ring_half_angle_deg=7, cone_half_angle_deg=6.5, face_width_mm=8), 4)
    0.0698
    """
    check_positive(quantity="face width", value=face_width_mm, unit="mm")
    ring = _half_angle("ring half angle", ring_half_angle_deg)
    cone = _half_angle("cone half angle", cone_half_angle_deg)
    return face_width_mm * tan(abs(ring - cone))


def _half_angle(quantity: str, half_angle_deg: float) -> float:
    """The angle in radians, once it is known to be a half angle."""
    check_within(
        quantity=quantity, value=half_angle_deg, low=0.0, high=STEEPEST_HALF_ANGLE_DEG, unit="°", low_included=False
    )
    return radians(half_angle_deg)
