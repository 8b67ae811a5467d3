#!/usr/bin/env python3
"""Fits the correction of models/compliance.cpp to finite-element values of random webs.

Usage: scripts/fit_gamma.py [FIT.csv HELD_OUT.csv]      (default: those beside this script)

The values are made by tests/long/web_study_test.cpp. Least squares of ln(formula/elements), webs without a near
end on foam (the usual ones) weighing threefold. Prints the constants and the error table; the held-out webs take
no part in the fit. Only the standard library is needed.
"""
import csv
import math
import os
import sys

SLICES = 12
USUAL = 3  # weight of webs without a near end on foam


def rectangle_integral(x, z, gap):
    r, g2 = math.sqrt(x * x + z * z + gap * gap), gap * gap
    total = (2 * g2 - x * x - z * z) * r / 6
    if x > 0 and z * z + g2 > 0:
        total += 0.5 * (z * z - g2) * x * math.log((x + r) / math.sqrt(z * z + g2))
    if z > 0 and x * x + g2 > 0:
        total += 0.5 * (x * x - g2) * z * math.log((z + r) / math.sqrt(x * x + g2))
    return total - (x * z * gap * math.atan(x * z / (r * gap)) if gap > 0 else 0)


def local(web, patch, depth):
    """E times the local surface term between patches at heights z and s, as a function."""
    b, scale = web["b"], (1 - web["nu"] ** 2) / (math.pi * (web["b"] * patch) ** 2)

    def across(z):
        return 2 * (rectangle_integral(b, z, 0) - rectangle_integral(0, z, 0)
                    - rectangle_integral(b, z, depth) + rectangle_integral(0, z, depth))

    known = {}

    def apart(offset):
        key = round(offset / patch, 6)
        if key not in known:
            known[key] = scale * (across(offset + patch) - 2 * across(offset) + across(abs(offset - patch)))
        return known[key]

    return lambda z, s: apart(abs(z - s)) - (apart(z + s) if web["rigid"] else 0)


def end_share(d, built, B, hold=1):
    return 1 / math.tanh(2 * hold * d / B) if built else math.tanh(2 * d / B)


def raw_gamma(web):
    """E times the largest eigenvalue of the uncorrected compliance (section 4 of the model, ends and root mended)."""
    w, h, b, nu, low, high = (web[k] for k in ("w", "h", "b", "nu", "low", "high"))
    plane, kappa = 1 - nu * nu, 10 * (1 + nu) / (12 + 11 * nu)
    turn, root = (0, 0) if web["rigid"] else (4.6 * plane / w ** 2, 0.80 * plane / w)

    def carrying(B, hold=1):
        return 0.5 * B * (end_share(web["d1"], web["built1"], B, hold) + end_share(web["d2"], web["built2"], B, hold))

    patch = (high - low) / SLICES
    at = [low + (i + 0.5) * patch for i in range(SLICES)]
    give = local(web, patch, 1.45 * w)
    G = [[0.0] * SLICES for _ in at]
    for i, z in enumerate(at):
        shear = 2 * (1 + nu) / (kappa * w) * z / carrying(b + 2.0 * z + 2.5 * w)
        for j in range(i, SLICES):
            s = at[j]
            plate = 2 * plane / w ** 3 * z * z * (3 * s - z) + turn * z * s + root * (z + s)
            G[i][j] = G[j][i] = (plate / carrying(b + (4.19 - 2.20 * (s / h) ** 2) * math.sqrt(z * s), 0.7)
                                 + shear + give(z, s))
    x, value = [1.0] * SLICES, 0.0
    for _ in range(200):
        y = [sum(g * v for g, v in zip(row, x)) for row in G]
        before, value = value, sum(a * c for a, c in zip(x, y)) / sum(a * a for a in x)
        x = [v / max(y) for v in y]
        if abs(value - before) < 1e-10 * value:
            break
    return patch * value


def terms(web):
    """The smooth terms of ln C, named as in models/compliance.cpp."""
    h, b = web["h"], web["b"]
    X, Y, H, Z = math.log(h / web["w"]), math.log(web["high"] / h), math.log(h / b), web["low"] / h

    def near(d, height):
        return 1 - math.tanh(2 * d / (b + 2 * height))

    n1, n2 = near(web["d1"], h), near(web["d2"], h)
    c1, c2 = near(web["d1"], web["high"]), near(web["d2"], web["high"])
    b1, b2 = web["built1"], web["built2"]
    f1, f2 = (0 if b1 else n1), (0 if b2 else n2)
    built = n1 + n2 - f1 - f2
    built_low, free_low = b1 * c1 + b2 * c2, 0.5 * ((not b1) * c1 + (not b2) * c2)
    return {
        "1": 1, "X+1.5W": X + 1.5 * (H - X), "Y": Y, "X Y": X * Y, "Z": Z,
        "nu nu": web["nu"] ** 2, "nu Y": web["nu"] * Y,
        "rigid": web["rigid"], "rigid Y": web["rigid"] * Y, "rigid built": web["rigid"] * built,
        "lopsided": ((f1 - f2) / (2 - f1 - f2)) ** 2, "either": 1 - (1 - f1) * (1 - f2), "free_low X": free_low * X,
        "built": built, "built_low Y": built_low * Y,
        "mixed": c1 * c2 * (b1 != b2), "mixed Y": c1 * c2 * (b1 != b2) * Y,
    }


def prepare(web):
    web["raw"], web["terms"] = raw_gamma(web), list(terms(web).values())
    reach, middle = web["high"] - web["low"], 0.5 * (web["high"] + web["low"])
    web["local"] = reach * local(web, reach, 1.45 * web["h"])(middle, middle)
    d1, d2 = web["d1"], web["d2"]
    d = d1 * d2 / (d1 + d2) if web["built1"] and web["built2"] else d1 if web["built1"] else d2
    web["x"] = d / web["w"]
    web["usual"] = not web["rigid"] and not web["built1"] and not web["built2"] and min(d1, d2) > 1.5 * web["h"]


def log_error(web, p):
    """ln(formula/elements). The last of `p` is the logarithm of the span's shear."""
    value = web["raw"] * math.exp(sum(a * t for a, t in zip(p, web["terms"])))
    if (web["built1"] or web["built2"]) and value > web["local"]:
        nu, x = web["nu"], web["x"]
        kappa = 10 * (1 + nu) / (12 + 11 * nu)
        span = 4 * x ** 3 + math.exp(p[-1]) * 2 * (1 + nu) * x / kappa
        value = web["local"] + 1 / (1 / (value - web["local"]) + 1 / span)
    return math.log(value / web["gamma"])


def solve(A, b):
    n = len(b)
    M = [row[:] + [value] for row, value in zip(A, b)]
    for i in range(n):
        pivot = max(range(i, n), key=lambda r: abs(M[r][i]))
        M[i], M[pivot] = M[pivot], M[i]
        for r in range(i + 1, n):
            f = M[r][i] / M[i][i]
            for c in range(i, n + 1):
                M[r][c] -= f * M[i][c]
    x = [0.0] * n
    for i in reversed(range(n)):
        x[i] = (M[i][n] - sum(M[i][c] * x[c] for c in range(i + 1, n))) / M[i][i]
    return x


def fit(webs):
    n = len(webs[0]["terms"]) + 1
    p, weights = [0.0] * n, [USUAL if web["usual"] else 1 for web in webs]

    def cost(q):
        errors = [log_error(web, q) for web in webs]
        return errors, sum(k * e * e for k, e in zip(weights, errors))

    (errors, now), damping = cost(p), 1e-3
    for _ in range(40):
        J = []
        for web, e in zip(webs, errors):
            row = []
            for j in range(n):
                q = p[:]
                q[j] += 1e-5
                row.append((log_error(web, q) - e) / 1e-5)
            J.append(row)
        A = [[sum(k * r[i] * r[j] for k, r in zip(weights, J)) for j in range(n)] for i in range(n)]
        g = [-sum(k * r[i] * e for k, r, e in zip(weights, J, errors)) for i in range(n)]
        for i in range(n):
            A[i][i] += damping * A[i][i] + 1e-6
        tried = [a + s for a, s in zip(p, solve(A, g))]
        new_errors, new = cost(tried)
        if new < now:
            done, p, errors, now, damping = now - new < 1e-8 * now, tried, new_errors, new, 0.2 * damping
            if done:
                break
        else:
            damping *= 10
            if damping > 1e6:
                break
    return p


def read(file):
    webs = []
    with open(file) as lines:
        for row in csv.DictReader(lines):
            web = {key: float(row[name]) for key, name in (
                ("w", "w_mm"), ("h", "h_mm"), ("d1", "d1_mm"), ("d2", "d2_mm"), ("b", "b_p_mm"), ("nu", "nu"),
                ("low", "low_mm"), ("high", "high_mm"), ("gamma", "gamma"))}
            web["rigid"] = int(row["rigid_floor"])
            web["built1"], web["built2"] = row["end1"] == "built-in", row["end2"] == "built-in"
            web["kind"] = ("rigid floor" if web["rigid"] else "foam floor") + ", " + (
                "built in" if web["built1"] or web["built2"] else "free or far")
            prepare(web)
            webs.append(web)
    return webs


def table(name, webs, p):
    print("| %s | webs | within 10 %% | within 20 %% | formula over elements |" % name)
    print("|---|---|---|---|---|")
    for kind in sorted({web["kind"] for web in webs}) + ["all"]:
        ratios = sorted(math.exp(log_error(web, p)) for web in webs if kind in (web["kind"], "all"))
        within = [100 * sum(abs(r - 1) <= t for r in ratios) / len(ratios) for t in (0.1, 0.2)]
        print("| %s | %d | %.1f %% | %.1f %% | %.2f to %.2f, median %.3f |" % (
            kind, len(ratios), *within, ratios[0], ratios[-1], ratios[len(ratios) // 2]))
    print()


def main():
    here = os.path.dirname(os.path.abspath(__file__))
    files = sys.argv[1:] or [os.path.join(here, name) for name in ("gamma_fit.csv", "gamma_held_out.csv")]
    if len(files) != 2 or files[0].startswith("-"):
        sys.exit("usage: scripts/fit_gamma.py [FIT.csv HELD_OUT.csv]")
    webs, held_out = (read(file) for file in files)
    p = fit(webs)
    # Three digits, as in the code: what is tested is what is written there.
    p = [round(v, 3) for v in p[:-1]] + [math.log(round(math.exp(p[-1]), 2))]
    for name, value in zip(terms(webs[0]), p):
        print("%+.3f  %s" % (value, name))
    print("%+.2f   times the span's shear\n" % math.exp(p[-1]))
    table("fitted", webs, p)
    table("held out", held_out, p)


if __name__ == "__main__":
    main()
