"""Pocketing, layer by layer, and a writer of plain RS-274 programs.

Lengths in mm, angles in rad, feeds in mm/min.
"""
from dataclasses import dataclass
from math import ceil, pi, tan

from contours import EPS, Circle, Point, Segment, apart, around, clockwise, contour, half_width, inward, is_concave, unit


@dataclass(frozen=True)
class Pocket:
    name: str
    corners: list
    depth: float
    posts: tuple = ()  # circles left standing, full height


@dataclass(frozen=True)
class Cut:
    """How a job is cut."""
    diameter: float = 6.35
    layer: float = 6.35         # depth of a layer: one cutter diameter
    stepover: float = 0.45      # of the diameter, at most
    leave: float = 0.5          # left on the wall for the finishing pass
    ramp_rad: float = 8 * pi / 180
    clear_feed: int = 4800
    finish_feed: int = 3600
    ramp_feed: int = 1500
    spindle_rpm: int = 18000
    safe_z: float = 5.0


class Program:
    """Collects the lines of a program; X, Y, Z and F are written only where they change."""

    def __init__(self, heading, cut):
        self.lines = ["%", *(f"({h})" for h in heading), "G21 G90 G17", f"S{cut.spindle_rpm} M3"]
        self.position = {}
        self.feed = None
        self.moves = 0
        self.move("G0", {"Z": cut.safe_z})

    def comment(self, words):
        self.lines.append(f"({words})")

    def move(self, code, target, feed=None, centre=None):
        words = [code]
        for axis, value in target.items():
            if code in ("G2", "G3") and axis != "Z" or _word(value) != self.position.get(axis):
                words.append(axis + _word(value))
        if centre is not None:
            words += ["I" + _word(centre.x - float(self.position["X"])), "J" + _word(centre.y - float(self.position["Y"]))]
        if len(words) == 1:
            return
        self.position.update({axis: _word(value) for axis, value in target.items()})
        if feed is not None and feed != self.feed:
            words.append(f"F{feed}")
            self.feed = feed
        self.lines.append(" ".join(words))
        self.moves += 1

    def follow(self, segments, feed, z_start, z_end):
        """Along the segments, Z going evenly with the length."""
        total, done = sum(s.length for s in segments), 0.0
        for s in segments:
            done += s.length
            target = {"X": s.end.x, "Y": s.end.y, "Z": z_start + (z_end - z_start) * done / total}
            code = "G1" if s.centre is None else "G3" if s.ccw else "G2"
            self.move(code, target, feed, s.centre)

    def text(self):
        return "\n".join([*self.lines, "M5", "M30", "%", ""])


def _word(value):
    return f"{round(value, 4) + 0.0:.4f}".rstrip("0").rstrip(".")


def cut_pocket(program, pocket, cut):
    """Ramps in, clears from the middle out and finishes the wall, layer by layer, before the next pocket."""
    r = cut.diameter / 2
    fences = [Circle(p.x, p.y, p.r + r + cut.leave) for p in pocket.posts]
    # Offsets stop short of the middle by what the cutter still covers; the elbow of an L is wider than its arms.
    short = (0.1 if is_concave(pocket.corners) else 0.7) * r
    first = r + cut.leave
    last = max(first, half_width(pocket.corners) - short)
    count = max(1, ceil((last - first) / (cut.stepover * cut.diameter) - 1e-9))
    loops = []  # from the middle out
    for k in range(count, -1, -1):
        shape = inward(pocket.corners, first + (last - first) * k / count)
        loop = around(contour(shape, least=2.0), fences)
        if loop and sum(s.length for s in loop) > 2.0:
            loops.append(loop)
    wall = contour(inward(pocket.corners, r))
    ramp_length = sum(s.length for s in loops[0])

    program.comment(f"{pocket.name}, depth {_word(pocket.depth)}")
    floor = 0.0
    while floor > -pocket.depth + EPS:
        above, floor = floor, max(floor - cut.layer, -pocket.depth)
        start = loops[0][0].start
        program.move("G0", {"X": start.x, "Y": start.y})
        program.move("G0", {"Z": above + 0.5})
        program.move("G1", {"Z": above}, cut.ramp_feed)
        turns = ceil((above - floor) / tan(cut.ramp_rad) / ramp_length)
        program.follow(loops[0] * turns, cut.ramp_feed, above, floor)
        here = start
        for loop in loops:
            here = _link(program, here, loop[0].start, fences, cut.clear_feed, floor)
            program.follow(loop, cut.clear_feed, floor, floor)
        here = _link(program, here, wall[0].start, fences, cut.finish_feed, floor)
        program.follow(wall, cut.finish_feed, floor, floor)
        for post, fence in zip(pocket.posts, fences):
            out = unit(here.x - post.x, here.y - post.y)
            for radius in (fence.r, post.r + r):
                start = Point(post.x + radius * out[0], post.y + radius * out[1])
                here = _link(program, here, start, [f for f in fences if f is not fence], cut.finish_feed, floor)
                program.follow(clockwise(post, start), cut.finish_feed, floor, floor)
            back = Point(post.x + fence.r * out[0], post.y + fence.r * out[1])  # off the post before moving on
            here = _link(program, here, back, [], cut.finish_feed, floor)
        program.move("G0", {"Z": cut.safe_z})


def _link(program, start, end, fences, feed, z):
    if apart(start, end) > EPS:
        program.follow(around([Segment(start, end)], fences), feed, z, z)
    return end
