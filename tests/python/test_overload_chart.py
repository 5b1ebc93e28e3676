"""The chart of a replayed overload, read back: ticks give the scales, curves must lie where the replay says."""

import itertools
import math

import pytest

import stopspan
from stopspan import _core


def scales(primitives, panel):
    """(millimetres of 0, millimetres per unit) along and up, from the numbers beside one panel's box."""
    (left, bottom), (right, _), (_, top), _ = panel.points
    numbers = [t for t in primitives if isinstance(t, _core.Text) and t.text.replace(".", "").isdigit()]
    along = {float(t.text): t.at[0] for t in numbers if t.align == "centre" and bottom - 6 < t.at[1] < bottom}
    up = {float(t.text): t.at[1] + 1 for t in numbers if t.align == "right" and left - 9 < t.at[0] < left and bottom - 1 <= t.at[1] + 1 <= top}
    found = []
    for ticks in (along, up):
        values = sorted(ticks)
        assert len(values) >= 3
        per_unit = (ticks[values[-1]] - ticks[0.0]) / values[-1]
        for low, high in itertools.pairwise(values):
            assert ticks[high] - ticks[low] == pytest.approx((high - low) * per_unit)
        found.append((ticks[0.0], per_unit))
    assert found[0][0] == left and found[1][0] == bottom and right > left
    return found


@pytest.mark.parametrize("profile", [[(4, 51), (300, 8.5), (20, 51), (600, 0)], [(3600, 8.0)], [(0.5, 60.0)]])
def test_curves_lie_where_the_replay_says(profile):
    replay = stopspan.Overload(setting_a=8.5, trip_class="10").replay(profile)
    primitives = replay.drawing("F1").sheets[0].primitives
    boxes = sorted((p for p in primitives if isinstance(p, _core.Polyline) and p.closed), key=lambda p: -p.points[0][1])
    panels = [box for box in boxes if box.layer == "references"]
    curves = [p for p in primitives if isinstance(p, _core.Polyline) and p.layer == "wires"]
    assert len(panels) == 2 and len(curves) == 3
    for curve, panel, quantity in zip(curves, (panels[0], panels[1], panels[1]), ("current_a", "bimetal", "heater"), strict=True):
        (x_zero, x_unit), (y_zero, y_unit) = scales(primitives, panel)
        for point in replay.points:
            x, y = x_zero + point.time_s * x_unit, y_zero + getattr(point, quantity) * y_unit
            (left, bottom), _, (right, top), _ = panel.points
            assert left - 1e-6 <= x <= right + 1e-6 and bottom - 1e-6 <= y <= top
            assert min(math.dist((x, y), each) for each in curve.points) < 0.06
    words = [t.text for t in primitives if isinstance(t, _core.Text)]
    assert (f"trips after {replay.trip_s:.1f} s" in words) if replay.trip_s else not any("trips after" in t for t in words)


def test_every_format_takes_it(tmp_path):
    drawing = stopspan.Overload(setting_a=8.5).replay([(5, 51)]).drawing()
    for name in ("svg", "dxf", "fodg"):
        assert len(stopspan.render(drawing, name)) > 1000
