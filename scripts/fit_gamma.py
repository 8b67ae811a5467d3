#!/usr/bin/python3
"""Fits the corrections of models/web/compliance_fit.cpp to finite-element values of random webs and writes them there.

Usage: scripts/fit_gamma.py [--check] [FIT.csv HELD_OUT.csv]      (default: those beside this script)

The values are made by tests/long/web_study_test.cpp. Least squares of ln(formula/elements), with a penalty where
the formula would rise with the web's thickness or fall with the contact's top. Prints the error table; the held-out
webs take no part in the fit. --check writes nothing and fails when the source holds other numbers. Needs numpy and
scipy (Debian: python3-numpy python3-scipy).
"""
import csv
import math
import os
import re
import sys

import numpy as np
from scipy.optimize import least_squares

SLICES = 12
SPAN_SHEAR = 1.5  # start of the one constant that is no term

def terms(text):
    return [term.strip() for term in " ".join(text.split()).split(";")]


# Terms of ln C for the web itself and for built-in ends, as written in models/web/compliance_fit.cpp: the same text in both
# languages. They were chosen one at a time by ten-fold cross-validation on the fitted webs.
WEB = terms("""
1; X; Y; W; W * W; X * X; X * W; X * Y; W * Y; Y * Y; nu; nu * nu; nu * X; nu * Y; Z; board; board * Y; board *
X; board * W; lopsided; either; free_low; free_low * X; free_low * nu; lopsided * Y; free_low * W; Z * X
""")
ENDS = terms("""
left * held; left * held * held; held * stub; local; local * Z; held * stub * W; local * both; local * near_low;
left * held * Y; left * held * at; left * near; left * near_low; left * near_low * X; left * near_low * Y; left
* near * X; left * near * Y; left * both; left * both_low; left * near_low * near_low * X; left * both_low * X;
left * near * board; left * at * X; left * near * near; left * at * Y; left * mixed * Y; left * near * near *
nu; left * near * near * W; left * near_low * W; left * near_low * near_low; left * near * near_low * X; left *
near * near * Y; left * both_at * X; left * both * W; left * at * board
""")


def rectangle_integral(x, z, gap):
    r, g2 = np.sqrt(x * x + z * z + gap * gap), gap * gap
    total = (2 * g2 - x * x - z * z) * r / 6
    with np.errstate(all="ignore"):
        total = total + np.where((x > 0) & (z * z + g2 > 0), 0.5 * (z * z - g2) * x * np.log((x + r) / np.sqrt(z * z + g2)), 0)
        total = total + np.where((z > 0) & (x * x + g2 > 0), 0.5 * (x * x - g2) * z * np.log((z + r) / np.sqrt(x * x + g2)), 0)
        return total - np.where(gap > 0, x * z * gap * np.arctan(x * z / (r * gap)), 0)


class Webs:
    """Many webs as arrays, with what of the formula does not depend on the fit."""

    def __init__(self, w, h, d1, d2, built1, built2, b, nu, board, low, high, gamma=None):
        self.w, self.h, self.d1, self.d2, self.b, self.nu, self.low, self.high = w, h, d1, d2, b, nu, low, high
        self.built1, self.built2, self.board, self.gamma = built1, built2, board, gamma
        self.built = built1 | built2
        ends = np.where(self.built, d1 + d2, np.inf)
        self.most = np.maximum(0.4 * b, np.minimum(np.minimum(12.5 * b, h / 0.25), ends))
        self.seen_w = np.clip(w, 0.4 * b, self.most)
        self.raw, self.local, self.block = self.raw_gamma(), self.local_give(1.45 * h), self.local_give(0 * h)
        self.names = self.shape(self.seen_w)
        self.web_terms = self.columns(WEB)
        thick, self.names = self.names, self.shape(h / 0.25)
        self.block_terms = self.columns(WEB)
        self.names = thick

    def columns(self, terms, **more):
        names = dict(self.names, **more)
        return np.array([np.broadcast_to(eval(term, {}, names), self.w.shape) for term in terms]).T

    def changed(self, **scales):
        """The same webs, some lengths scaled."""
        keys = "w h d1 d2 built1 built2 b nu board low high".split()
        return Webs(*(getattr(self, k) * scales[k] if k in scales else getattr(self, k) for k in keys))

    def give(self, patch, depth, offset):
        """E times the local surface term of patches `offset` apart in height."""
        b = self.b

        def across(z):
            zero = 0 * b
            return 2 * (rectangle_integral(b, z, zero) - rectangle_integral(zero, z, zero)
                        - np.where(depth > 0, rectangle_integral(b, z, depth) - rectangle_integral(zero, z, depth), 0))

        scale = (1 - self.nu ** 2) / (math.pi * (b * patch) ** 2)
        return scale * (across(offset + patch) - 2 * across(offset) + across(np.abs(offset - patch)))

    def local_give(self, depth):
        reach = self.high - self.low
        mirrored = np.where(self.board, self.give(reach, depth, self.high + self.low), 0)
        return reach * (self.give(reach, depth, 0 * reach) - mirrored)

    def raw_gamma(self):
        """E times the largest eigenvalue of the uncorrected compliance."""
        w, h, b, nu, low = np.minimum(self.w, self.most), self.h, self.b, self.nu, self.low
        plane, kappa = 1 - nu * nu, 10 * (1 + nu) / (12 + 11 * nu)
        turn, root = np.where(self.board, 0, 4.6 * plane / w ** 2), np.where(self.board, 0, 0.80 * plane / w)

        def carrying(B, holds):
            def share(d, built):
                near = np.tanh(2 * d / B)
                return np.where(built, 1 / near if holds else 1, near)
            return 0.5 * B * (share(self.d1, self.built1) + share(self.d2, self.built2))

        patch = (self.high - low) / SLICES
        at = [low + (i + 0.5) * patch for i in range(SLICES)]
        apart = [self.give(patch, 1.45 * self.seen_w, k * patch) for k in range(SLICES)]
        mirrored = [np.where(self.board, self.give(patch, 1.45 * self.seen_w, 2 * low + (k + 1) * patch), 0)
                    for k in range(2 * SLICES - 1)]
        G = np.zeros((len(w), SLICES, SLICES))
        for i, z in enumerate(at):
            shear = 2 * (1 + nu) / (kappa * w) * z / carrying(b + 0.8 * z + 2.3 * w, False)
            for j in range(i, SLICES):
                s = at[j]
                plate = 2 * plane / w ** 3 * z * z * (3 * s - z) + turn * z * s + root * (z + s)
                held = carrying(b + (4.19 - 2.20 * (s / h) ** 2) * np.sqrt(z * s), True)
                G[:, i, j] = G[:, j, i] = plate / held + shear + apart[j - i] - mirrored[i + j]
        return patch * np.linalg.eigvalsh(G)[:, -1]

    def shape(self, w):
        """What the terms are made of, named as in models/web/compliance_fit.cpp."""
        b, B1, B2 = self.b, self.built1 * 1.0, self.built2 * 1.0

        def near(d, height):
            return 1 - np.tanh(2 * d / (b + 2 * height))

        top = np.maximum(self.high, 0.25 * self.h)
        n1, n2, c1, c2 = near(self.d1, self.h), near(self.d2, self.h), near(self.d1, top), near(self.d2, top)
        a1, a2 = np.exp(-self.d1 / b), np.exp(-self.d2 / b)
        f1, f2, both, mixed = (1 - B1) * n1, (1 - B2) * n2, B1 * B2, B1 + B2 - 2 * B1 * B2
        return {
            "X": np.log(np.clip(self.h / w, 0.25, 10)), "Y": np.log(np.clip(self.high / self.h, 0.25, 1)),
            "W": np.log(np.clip(w / b, 0.4, 12.5)), "Z": self.low / self.h, "nu": self.nu, "board": self.board * 1.0,
            "lopsided": ((f1 - f2) / (2 - f1 - f2)) ** 2, "either": 1 - (1 - f1) * (1 - f2),
            "free_low": 0.5 * ((1 - B1) * c1 + (1 - B2) * c2),
            "near": B1 * n1 + B2 * n2, "near_low": B1 * c1 + B2 * c2, "at": B1 * a1 + B2 * a2,
            "both": both * n1 * n2, "both_low": both * c1 * c2, "both_at": both * a1 * a2, "mixed": mixed * c1 * c2,
            "stub": mixed * np.exp(-np.where(self.built1, self.d2 / self.d1, self.d1 / self.d2)),
        }

    def span(self, shear):
        d1, d2 = self.d1, self.d2
        d = np.where(self.built1 & self.built2, d1 * d2 / (d1 + d2), np.where(self.built1, d1, d2))
        x, kappa = d / self.w, 10 * (1 + self.nu) / (12 + 11 * self.nu)
        return 4 * x ** 3 + shear * 2 * (1 + self.nu) * x / kappa

    def log_gamma(self, p, stiffer=0.0):
        value = self.raw * np.exp(self.web_terms @ p[:len(WEB)] - stiffer)
        block = self.block * np.exp(self.block_terms @ p[:len(WEB)])
        thick = (self.w > self.most) & (block < value)
        value = np.where(thick, block + (value - block) * (self.most / self.w) ** 2, value)
        surface = value * self.local / (value + self.local)
        bends = value - surface
        held = bends / (bends + self.span(p[-1]))
        held_value = surface + (1 - held) * bends
        ends = self.columns(ENDS, held=held, left=1 - held, local=surface / held_value) @ p[len(WEB):-1]
        ends *= np.minimum(1, self.high / (0.25 * self.h))
        return np.where(self.built, np.log(held_value) + ends, np.log(value))

    def log_error(self, p):
        return self.log_gamma(p) - np.log(self.gamma)


def random_webs(count, seed, share_beyond=0.0):
    """Webs to see whether the formula keeps its order: of the study's range, and one in three far beyond it."""
    random = np.random.default_rng(seed)

    def power(low, high):
        return np.exp(random.uniform(np.log(low), np.log(high)))

    beyond = random.uniform(size=count) < share_beyond
    b = power(np.full(count, 2), 10)
    w = np.where(beyond, power(np.full(count, 1.5), 80), power(np.full(count, 4), 25))
    h = np.where(beyond, power(np.full(count, 3), 100), w * power(np.full(count, 0.25), 10))
    end = [random.choice(3, count, p=[0.3, 0.25, 0.45]) for _ in range(2)]
    d = [np.where(e == 0, 6 * h, power(b / 2, np.where(beyond, 6, 2.5) * h + b)) for e in end]
    high = random.uniform(np.where(beyond, 0.03, 0.25), 0.99)
    low = np.where(random.uniform(size=count) < 0.8, 0, random.uniform(size=count) * np.maximum(high - 0.2, 0))
    columns = (w, h, *d, *(e == 2 for e in end), b, random.uniform(0, 0.45, count), random.uniform(size=count) < 0.25,
               low * h, high * h)
    # Between built-in ends the study has no web thicker than long.
    keep = beyond | ((h > 5) & (h < 75) & ((d[0] + d[1] > 1.01 * w) | ((end[0] != 2) & (end[1] != 2))))
    return Webs(*(column[keep] for column in columns))


class Order:
    """Slopes that the formula must not have: rising with w, falling with the contact's top or the raw value."""
    STEP, MARGIN = 1e-3, 0.03

    def __init__(self, count, seed, share_beyond=0.0):
        self.webs = random_webs(count, seed, share_beyond)
        self.thicker, self.longer = self.webs.changed(w=1 + self.STEP), self.webs.changed(high=1 + self.STEP)

    def slopes(self, p):
        here = self.webs.log_gamma(p)
        return [(there - here) / self.STEP for there in (
            self.thicker.log_gamma(p), self.longer.log_gamma(p), self.webs.log_gamma(p, -self.STEP))]

    def penalties(self, p):
        thicker, longer, softer = self.slopes(p)
        return np.concatenate([np.maximum(0, self.MARGIN + thicker), np.maximum(0, self.MARGIN - longer),
                               np.maximum(0, 0.1 - softer)])


def fit(webs):
    start = np.append(np.zeros(len(WEB) + len(ENDS)), SPAN_SHEAR)
    order = Order(20000, 1)
    tie = 0.02 * math.sqrt(len(webs.w) / 1000) * np.append(np.ones(len(start) - 1), 0.3)
    return least_squares(lambda p: np.concatenate([webs.log_error(p), tie * (p - start), 8 * order.penalties(p)]), start).x


def read(file):
    with open(file) as lines:
        rows = list(csv.DictReader(lines))

    def column(name):
        return np.array([float(row[name]) for row in rows])

    return Webs(*map(column, ("w_mm", "h_mm", "d1_mm", "d2_mm")), *(np.array([row[end] == "built-in" for row in rows]) for end in (
        "end1", "end2")), column("b_p_mm"), column("nu"), column("rigid_floor") == 1, column("low_mm"), column("high_mm"), column("gamma"))


def table(name, webs, p):
    ratios = np.exp(webs.log_error(p))
    print("| %s | webs | within 10 %% | within 20 %% | formula over elements |" % name)
    print("|---|---|---|---|---|")
    for kind, which in (("foam floor, free or far", ~webs.board & ~webs.built), ("foam floor, built in", ~webs.board & webs.built),
                        ("board, free or far", webs.board & ~webs.built), ("board, built in", webs.board & webs.built),
                        ("all", webs.board | ~webs.board)):
        r = ratios[which]
        within = [100 * np.mean(np.abs(r - 1) <= t) for t in (0.1, 0.2)]
        print("| %s | %d | %.1f %% | %.1f %% | %.2f to %.2f, median %.3f |" % (kind, len(r), *within, r.min(), r.max(), np.median(r)))
    print()


def expression(p, terms, begin="", end=""):
    out = ""
    for value, term in zip(p, terms):
        text = "%.3f" % abs(value) + ("" if term == "1" else " * " + term)
        out += ("-" if value < 0 else "") + text if not out else (" - " if value < 0 else " + ") + text
    lines, line = [], "  return std::exp(" + begin
    for word in re.split(r"(?<= )(?=[-+] )", out):
        if len(line) + len(word) > 110:
            lines.append(line.rstrip())
            line = "                  "
        line += word
    return "\n".join(lines + [line + end + ");"])


def source(p):
    return """const double kSpanShear = %.2f;

double WebShape::web_factor() const {
%s
}

double WebShape::ends_factor(double held, double local) const {
  const double left = 1 - held;
%s
}
""" % (p[-1], expression(p, WEB), expression(p[len(WEB):], ENDS, "in_reach * (", ")"))


def main():
    here = os.path.dirname(os.path.abspath(__file__))
    words = sys.argv[1:]
    check = "--check" in words
    files = [word for word in words if word != "--check"] or [
        os.path.join(here, name) for name in ("gamma_fit.csv", "gamma_held_out.csv")]
    if len(files) != 2 or any(file.startswith("-") for file in files):
        sys.exit("usage: scripts/fit_gamma.py [--check] [FIT.csv HELD_OUT.csv]")
    webs, held_out = (read(file) for file in files)
    p = fit(webs)
    # As many digits as in the code: what is tested is what is written there.
    p = np.append(np.round(p[:-1], 3), round(p[-1], 2))
    table("fitted", webs, p)
    table("held out", held_out, p)
    order = Order(100000, 2)
    thicker, longer, _ = order.slopes(p)
    print("order: of %d random webs %d rise with thickness (%.3f at most), %d fall with the contact's top" % (
        len(thicker), np.sum(thicker > 0), thicker.max(), np.sum(longer < 0)))
    target = os.path.join(here, "..", "models", "web", "compliance_fit.cpp")
    with open(target) as file:
        text = file.read()
    new = re.sub(r"(// fit:begin[^\n]*\n).*(// fit:end)", lambda m: m.group(1) + source(p) + m.group(2), text, flags=re.S)
    if check:
        sys.exit("models/web/compliance_fit.cpp holds other numbers" if "".join(new.split()) != "".join(text.split()) else 0)
    with open(target, "w") as file:
        file.write(new)


if __name__ == "__main__":
    main()
