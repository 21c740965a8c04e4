"""Bodies and rotaries for the tests of this room."""

from __future__ import annotations

import math

from hypothesis import strategies as st

from render.geometry.solids import Profile, frustum
from render.model import Lay, Place, Rotary, RotaryKind, RoundBody

CHUCK = Rotary(RotaryKind.CHUCK, turn=360.0, axis="y")
CHUCK_X = Rotary(RotaryKind.CHUCK, turn=360.0, axis="x")
ROLLER = Rotary(RotaryKind.ROLLER, axis="y")


def body_of(profile: Profile, **more: object) -> RoundBody:
    """A body by its profile, drawn as wide as it is round half way down."""
    round_it = 2 * math.pi * profile.r
    middle = 2 * math.pi * float(profile.radius(profile.s[-1:] / 2)[0])
    stations = () if profile.is_straight else tuple(zip(profile.z.tolist(), round_it.tolist(), strict=True))
    return RoundBody(middle, profile.height, stations=stations, **more)  # type: ignore[arg-type]


CONE = body_of(frustum(276, 224, slant=150))
BULB = body_of(Profile.of([(0, 200), (15, 211), (30, 219), (45, 223), (60, 221), (75, 208)]))


@st.composite
def profiles(draw: st.DrawFn) -> Profile:
    """Cylinders, cones and profiles of up to six stations, none steeper than 45 degrees."""
    count = draw(st.integers(2, 6))
    circumference = draw(st.floats(60, 600))
    straight = draw(st.booleans())
    z, stations = 0.0, [(0.0, circumference)]
    for _ in range(count - 1):
        step = draw(st.floats(10, 120))
        change = 0.0 if straight else draw(st.floats(-0.95, 0.95)) * step * 2 * math.pi
        circumference = max(circumference + change, 40.0) if not straight else circumference
        z += step
        stations.append((z, circumference))
    return Profile.of(stations)


lays = st.sampled_from([Lay.RIM, Lay.TURN])
bodies = st.builds(
    lambda profile, lay, at, lying, inside: body_of(
        profile, lay=lay, places=(Place("front", at, lay=lay),), lying=lying, inside=inside
    ),
    profiles(),
    lays,
    st.floats(30, 330),
    st.booleans(),
    st.booleans(),
)
rotaries = st.builds(
    Rotary,
    st.sampled_from(RotaryKind),
    turn=st.floats(10, 1000),
    axis=st.sampled_from("xy"),
    slip=st.floats(0, 0.1),
    reversed=st.booleans(),
    scales=st.booleans(),
)
