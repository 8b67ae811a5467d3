"""Rounded polygons, their inward offsets, and paths led around posts.

Lengths in mm, angles in rad, contours anticlockwise.
"""
from dataclasses import dataclass
from math import acos, atan2, cos, hypot, pi, sin, sqrt, tan, tau
from typing import NamedTuple, Optional

EPS = 1e-7  # mm; far below the 0.0001 mm of the program's words


class Point(NamedTuple):
    x: float
    y: float


class Corner(NamedTuple):
    x: float
    y: float
    r: float  # radius of the rounding


class Circle(NamedTuple):
    x: float
    y: float
    r: float


@dataclass(frozen=True)
class Segment:
    """A straight line, or an arc when it has a centre."""
    start: Point
    end: Point
    centre: Optional[Point] = None
    ccw: bool = True

    @property
    def radius(self):
        return hypot(self.start.x - self.centre.x, self.start.y - self.centre.y)

    @property
    def angles(self):
        """Start angle and signed turn of an arc."""
        a = atan2(self.start.y - self.centre.y, self.start.x - self.centre.x)
        turn = (atan2(self.end.y - self.centre.y, self.end.x - self.centre.x) - a) % tau
        return a, turn if self.ccw else turn - tau

    @property
    def length(self):
        if self.centre is None:
            return hypot(self.end.x - self.start.x, self.end.y - self.start.y)
        return self.radius * abs(self.angles[1])

    def at(self, s):
        """The point after the share s of the length."""
        if self.centre is None:
            return Point(self.start.x + s * (self.end.x - self.start.x), self.start.y + s * (self.end.y - self.start.y))
        a, turn = self.angles
        return Point(self.centre.x + self.radius * cos(a + s * turn), self.centre.y + self.radius * sin(a + s * turn))

    def part(self, s, t):
        return Segment(self.at(s) if s > 0 else self.start, self.at(t) if t < 1 else self.end, self.centre, self.ccw)


# Shapes: lists of corners. A circle is a square rounded to the full, a stadium a rectangle so rounded.

def rectangle(x, y, width, height, r):
    """(x, y) is the lower left corner of the box around it."""
    return [Corner(x, y, r), Corner(x + width, y, r), Corner(x + width, y + height, r), Corner(x, y + height, r)]


def stadium(x, y, width, height):
    return rectangle(x, y, width, height, min(width, height) / 2)


def circle(x, y, radius):
    return rectangle(x - radius, y - radius, 2 * radius, 2 * radius, radius)


def regular(x, y, flats, count, r):
    """Regular polygon by its inscribed circle's diameter, one flat at the bottom."""
    outer = flats / 2 / cos(pi / count)
    return [Corner(x + outer * cos(tau * (i + 0.5) / count - pi / 2 - tau / count),
                   y + outer * sin(tau * (i + 0.5) / count - pi / 2 - tau / count), r) for i in range(count)]


def ell(x, y, width, height, arm, r):
    """L with both arms equally wide, its elbow at the lower left, the inside corner all but sharp."""
    return [Corner(x, y, r), Corner(x + width, y, r), Corner(x + width, y + arm, r), Corner(x + arm, y + arm, 1),
            Corner(x + arm, y + height, r), Corner(x, y + height, r)]


# Offsets and contours.

def inward(corners, d):
    """The shape moved in by d, or None when nothing is left. Edges that vanish are dropped."""
    n = len(corners)
    edges = []  # (point on the shifted edge, direction, radius of the corner it starts from)
    for i, c in enumerate(corners):
        before, after = corners[i - 1], corners[(i + 1) % n]
        ux, uy = unit(after.x - c.x, after.y - c.y)
        vx, vy = unit(c.x - before.x, c.y - before.y)
        r = max(c.r - d, 0.0) if vx * uy - vy * ux > 0 else c.r + d
        edges.append(((c.x - d * uy, c.y + d * ux), (ux, uy), r))
    while len(edges) >= 3:
        points = [_meet(edges[i - 1], edges[i]) for i in range(len(edges))]
        if None in points:
            return None
        kept = []
        for i, (_, (ux, uy), _) in enumerate(edges):
            p, q = points[i], points[(i + 1) % len(edges)]
            kept.append((q.x - p.x) * ux + (q.y - p.y) * uy > EPS)
        if all(kept):
            return [Corner(p.x, p.y, e[2]) for p, e in zip(points, edges)]
        edges = [(e[0], e[1], e[2] if kept[i - 1] else 0.0) for i, e in enumerate(edges) if kept[i]]
    return None


def half_width(corners):
    """The greatest inward offset that leaves something."""
    low, high = 0.0, 1.0
    while inward(corners, high):
        high *= 2
    for _ in range(50):
        middle = (low + high) / 2
        low, high = (middle, high) if inward(corners, middle) else (low, middle)
    return low


def is_concave(corners):
    n = len(corners)
    turns = ((c.x - corners[i - 1].x) * (corners[(i + 1) % n].y - c.y) -
             (c.y - corners[i - 1].y) * (corners[(i + 1) % n].x - c.x) for i, c in enumerate(corners))
    return any(turn < 0 for turn in turns)


def contour(corners, least=0.0):
    """Segments around the shape from the middle of its longest edge; corners rounded to `least` where there is room."""
    n = len(corners)
    edges = [(corners[(i + 1) % n].x - c.x, corners[(i + 1) % n].y - c.y) for i, c in enumerate(corners)]
    lengths = [hypot(*e) for e in edges]
    starts, ends, arcs = [], [], []
    for i, c in enumerate(corners):
        (vx, vy), (ux, uy) = unit(*edges[i - 1]), unit(*edges[i])
        cross = vx * uy - vy * ux
        half = tan(acos(max(-1.0, min(1.0, vx * ux + vy * uy))) / 2)
        r = max(c.r, min(least, 0.45 * min(lengths[i - 1], lengths[i]) / half))
        t, side = r * half, 1 if cross > 0 else -1
        starts.append(Point(c.x - t * vx, c.y - t * vy))
        ends.append(Point(c.x + t * ux, c.y + t * uy))
        centre = Point(starts[i].x - side * r * vy, starts[i].y + side * r * vx)
        arcs.append(Segment(starts[i], ends[i], centre, side > 0) if r > EPS else None)
    lines = [Segment(ends[i], starts[(i + 1) % n]) for i in range(n)]
    for i, line in enumerate(lines):  # roundings must not overlap
        ux, uy = unit(*edges[i])
        assert (line.end.x - line.start.x) * ux + (line.end.y - line.start.y) * uy > -1e-6, "no room for a rounding"
    first = max(range(n), key=lambda i: round(lines[i].length, 6))
    loop = [lines[first].part(0.5, 1)]
    for k in range(1, n + 1):
        i = (first + k) % n
        loop += [arcs[i], lines[i] if k < n else lines[first].part(0, 0.5)]
    return [s for s in loop if s is not None and s.length > 1e-6]


def around(segments, posts):
    """The path led around each post instead of through it; the posts must stand clear of each other."""
    pieces = []
    for segment in segments:
        cuts = sorted({0.0, 1.0, *(s for post in posts for s in _crossings(segment, post))})
        pieces += [segment.part(s, t) for s, t in zip(cuts, cuts[1:]) if (t - s) * segment.length > 1e-6]
    outside = [p for p in pieces if all(hypot(p.at(0.5).x - c.x, p.at(0.5).y - c.y) > c.r - EPS for c in posts)]
    path = []
    for piece in outside:
        if path and apart(path[-1].end, piece.start) > 1e-6:
            path.append(_detour(path[-1].end, piece.start, posts))
        path.append(piece)
    closed = apart(segments[0].start, segments[-1].end) < 1e-6
    if path and closed and apart(path[-1].end, path[0].start) > 1e-6:
        path.append(_detour(path[-1].end, path[0].start, posts))
    return path


def clockwise(post, start):
    """Once around a post in two half turns, the post on the right: the cutter climbs."""
    far = Point(2 * post.x - start.x, 2 * post.y - start.y)
    centre = Point(post.x, post.y)
    return [Segment(start, far, centre, False), Segment(far, start, centre, False)]


def unit(x, y):
    length = hypot(x, y)
    return x / length, y / length


def apart(p, q):
    return hypot(p.x - q.x, p.y - q.y)


def _meet(a, b):
    (px, py), (ux, uy), _ = a
    (qx, qy), (vx, vy), _ = b
    cross = ux * vy - uy * vx
    if abs(cross) < 1e-9:
        return None
    s = ((qx - px) * vy - (qy - py) * vx) / cross
    return Point(px + s * ux, py + s * uy)


def _crossings(segment, post):
    """Shares of the segment at which it crosses the circle."""
    if segment.centre is None:
        dx, dy = segment.end.x - segment.start.x, segment.end.y - segment.start.y
        fx, fy = segment.start.x - post.x, segment.start.y - post.y
        a, b, c = dx * dx + dy * dy, fx * dx + fy * dy, fx * fx + fy * fy - post.r ** 2
        root = b * b - a * c
        return [s for s in ((-b - sqrt(root)) / a, (-b + sqrt(root)) / a) if 0 < s < 1] if root > 0 else []
    d = hypot(post.x - segment.centre.x, post.y - segment.centre.y)
    r = segment.radius
    if d < EPS or abs(r * r + d * d - post.r ** 2) >= 2 * r * d:
        return []
    toward = atan2(post.y - segment.centre.y, post.x - segment.centre.x)
    spread = acos((r * r + d * d - post.r ** 2) / (2 * r * d))
    a, turn = segment.angles
    shares = [((toward + k * spread - a) % tau if segment.ccw else -((a - toward - k * spread) % tau)) / turn for k in (-1, 1)]
    return [s for s in shares if 0 < s < 1]


def _detour(p, q, posts):
    """The shorter arc from p to q around the post on whose circle both lie."""
    post = min(posts, key=lambda c: abs(hypot(p.x - c.x, p.y - c.y) - c.r) + abs(hypot(q.x - c.x, q.y - c.y) - c.r))
    turn = (atan2(q.y - post.y, q.x - post.x) - atan2(p.y - post.y, p.x - post.x)) % tau
    return Segment(p, q, Point(post.x, post.y), turn < pi)
