#!/usr/bin/env python3
"""Writes the NC programs of the demo scenes. Usage: scripts/make_scenes.py [--check]

With --check nothing is written; the exit status is 1 when a committed program differs from what would be written.
Zero of every program: lower left corner, top of the sheet. Lengths in mm.
"""
import sys
from pathlib import Path

from contours import Circle, Corner, circle, ell, rectangle, regular, stadium
from pocketing import Cut, Pocket, Program, cut_pocket

SCENES = Path(__file__).resolve().parent.parent / "scenes"


def in_a_row(x, y, webs, pockets):
    """Pockets from left to right with the given webs between them; pocket: (name, shape, width, height, depth, ...)."""
    row = []
    for (name, shape, width, height, depth, *more), web in zip(pockets, [*webs, 0], strict=True):
        row.append(Pocket(name, shape(x, y, width, height, *more), depth))
        x += width + web
    return row


def bicycle_case():
    """The travelling tool case of a bicycle workshop, sheet 420 x 290 x 40."""
    rack = in_a_row(18, 18, [6, 8, 10, 12, 14, 16, 18], [
        ("tyre lever 1", stadium, 20, 120, 25.4),
        ("tyre lever 2", stadium, 20, 120, 25.4),
        ("tyre lever 3", stadium, 20, 120, 25.4),
        ("spanner 8 and 10", rectangle, 22, 120, 25.4, 7),
        ("spanner 13 and 15", rectangle, 22, 120, 25.4, 7),
        ("cone spanner", rectangle, 20, 120, 25.4, 6),
        ("spoke key and file", stadium, 16, 120, 19.05),
        ("pump", stadium, 28, 120, 28),
    ])
    elbow = rack[-1].corners[1].x + 30
    chain = [
        Pocket("chain tool", ell(elbow, 18, 78, 120, 30, 6), 25.4),
        Pocket("lockring key", circle(elbow + 30 + 8 + 18, 18 + 30 + 9 + 18, 18), 19.05),
        Pocket("quick link", circle(elbow + 30 + 8 + 18, 18 + 30 + 9 + 36 + 5 + 10, 10), 12.7),
    ]
    trays = [
        Pocket("patch kit", rectangle(18, 162, 66, 46, 8), 4.5),
        Pocket("rubber solution", rectangle(18, 212, 66, 56, 8), 4.5),  # web 4 over the patch kit, both shallow
        Pocket("multi-tool", regular(144, 215, 70, 6, 6), 25.4, (Circle(144, 215, 11),)),
    ]
    bits = [Pocket(f"bit {3 * column + row + 1}", circle(214 + 20 * column, 175 + 20 * row, 7), 15)
            for column in range(4) for row in range(3)]
    heads = [
        Pocket("socket 14", circle(216, 247, 13), 22),
        Pocket("socket 17", circle(254, 247, 15), 22),
    ]
    right = [
        Pocket("cassette tool", circle(328, 197, 35), 19.05, (Circle(328, 197, 15),)),
        Pocket("spare tube", rectangle(290, 242, 112, 32, 10), 22, (Circle(320, 258, 6), Circle(372, 258, 6))),
        Pocket("crank puller", [Corner(373, 162, 5), Corner(402, 162, 5), Corner(402, 234, 5), Corner(381, 234, 5),
                                Corner(373, 200, 9)], 25.4),
    ]
    return rack + chain + trays + bits + heads + right


WALLS = [3, 4, 5, 6, 8, 10, 12, 14, 16, 17, 18, 19, 20, 21, 22, 25, 30]
SLOT = 12       # between the walls
BORDER = 40     # foam around the comb
LONG = 100      # length of the walls
CHANNEL = 14    # that cuts their ends free


def comb(free):
    """Parallel walls between slots 25 deep; free: both ends cut free by a channel beforehand."""
    width = sum(WALLS) + SLOT * (len(WALLS) + 1)
    reach = CHANNEL if free else 0
    x, y = BORDER, BORDER + CHANNEL
    pockets = []
    if free:
        pockets += [Pocket("channel at the near ends", rectangle(x, y - CHANNEL, width, CHANNEL, 4), 25),
                    Pocket("channel at the far ends", rectangle(x, y + LONG, width, CHANNEL, 4), 25)]
    for i, wall in enumerate([*WALLS, 0]):
        name = f"slot {i + 1}" + (f", right of it the wall {wall} thick" if wall else "")
        pockets.append(Pocket(name, rectangle(x, y - reach, SLOT, LONG + 2 * reach, 4), 25))
        x += SLOT + wall
    return pockets


def program(title, pockets, cut=Cut()):
    text = Program([title, "mm; zero: lower left corner, top of the sheet",
                    f"flat end cutter {cut.diameter:g}, layers {cut.layer:g}"], cut)
    for pocket in pockets:
        cut_pocket(text, pocket, cut)
    return text


def main(words):
    if words not in ([], ["--check"]):
        sys.exit(__doc__)
    jobs = {
        "bicycle-case": program("insert for the travelling tool case of a bicycle workshop", bicycle_case()),
        "comb": program("comb of parallel walls, both ends free", comb(free=True)),
        "comb-built-in": program("comb of parallel walls, both ends in thick stock", comb(free=False)),
    }
    differs = False
    for name, job in jobs.items():
        file = SCENES / name / f"{name}.nc"
        if words:
            same = file.is_file() and file.read_text() == job.text()
            differs |= not same
            print(f"{file.relative_to(SCENES.parent)}: {'as generated' if same else 'DIFFERS: run scripts/make_scenes.py'}")
        else:
            file.parent.mkdir(parents=True, exist_ok=True)
            file.write_text(job.text())
            print(f"{file.relative_to(SCENES.parent)}: {job.moves} moves")
    return differs


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
