#!/usr/bin/env python3
"""Times our bake against two general-purpose solvers on the same equations, in one run.

Case: 8 mm on a steel band, three oven zones, 40 cells. Error: the largest gap of the mean moisture, relative to
that at the start, against our tight bake on the same cells, at 201 times. A general solver's time is taken at the
tolerance whose error is like that of our run: the largest error not above twice ours, or else its smallest.

    cargo build --release -p baking --benches
    python3 -m venv V && V/bin/pip install scipy numba scikit-sundae
    V/bin/python tools/bench_bake.py PATH/TO/the/bake/bench/binary
"""

import glob
import json
import math
import os
import subprocess
import sys
import time

import numpy as np
from numba import njit
from scipy.integrate import solve_ivp
from scipy.sparse import diags
from sksundae.cvode import CVODE

R, MW, P, SIGMA = 8.314462618, 0.01801528, 101325.0, 5.670374419e-8
N, L, RHO, CS, CW = 41, 0.008, 850.0, 1700.0, 4186.0
DX = L / (N - 1)
K0, K1, D0, EA, TREF = 0.17, 0.4, 3e-10, 25000.0, 333.15
PHITAU, KAPPA, DELTA, EPS = 0.10, 5e-14, 0.01, 0.9
ISO_A, ISO_B, ISO_T, LAM0, LAM1 = 2.28, 0.38, 0.0056, 2501e3, 2361.0
LEWIS = 0.86 ** (-2 / 3)
# duration, air, radiating, band [K], vapour [Pa], h_c, h_b
ZONES = [
    (240.0, 453.15, 463.15, 423.15, 14034.32228039558, 20.0, 80.0),
    (360.0, 483.15, 493.15, 453.15, 16387.234157254912, 25.0, 80.0),
    (456.0, 473.15, 478.15, 448.15, 8914.484295727147, 25.0, 80.0),
]


def rhs_numpy(y, dy, zone):
    """Vectorised right-hand side; y alternates X and e/1e5."""
    _, ta, tr, tb, pa, hc, hb = zone
    x, e = y[0::2], y[1::2]
    th = 1e5 * e / (CS + CW * x)
    t = th + 273.15
    logit = (np.log(100 * np.maximum(x, 1e-12)) - ISO_A + ISO_T * th) / ISO_B
    p = np.exp(77.345 + 0.0057 * t - 7235 / t - 8.2 * np.log(t)) / (1 + np.exp(-logit))
    d = D0 * np.exp(-EA / R * (1 / t - 1 / TREF))
    s = 1 - p / P
    sp = 0.5 * (s + np.sqrt(s * s + DELTA * DELTA))
    dva = PHITAU * 2.26e-5 * (t / 273.15) ** 1.81
    kd = KAPPA * P * (1 - s + sp) / (1.23e-5 * t / 373.15)
    kv = dva * kd / (sp * kd + dva) * MW / (R * t)
    k = K0 + K1 * x
    jl = -RHO * 0.5 * (d[1:] + d[:-1]) * (x[1:] - x[:-1]) / DX
    jv = -0.5 * (kv[1:] + kv[:-1]) * (p[1:] - p[:-1]) / DX
    thm = 0.5 * (th[1:] + th[:-1])
    q = -0.5 * (k[1:] + k[:-1]) * (th[1:] - th[:-1]) / DX + CW * thm * (jl + jv) + (LAM0 - LAM1 * thm) * jv
    ts, ths = t[-1], th[-1]
    km = hc * 287.05 * 0.5 * (ta + ts) / (P * 1010) * LEWIS
    j_top = km * MW / R * (p[-1] / ts - pa / ta)
    q_top = -(hc * (ta - ts) + EPS * SIGMA * (tr**4 - ts**4)) + j_top * (CW * ths + LAM0 - LAM1 * ths)
    j = np.empty(N + 1)
    j[0], j[1:-1], j[-1] = 0.0, jl + jv, j_top
    f = np.empty(N + 1)
    f[0], f[1:-1], f[-1] = hb * (tb - t[0]), q, q_top
    w = np.full(N, DX)
    w[0] = w[-1] = 0.5 * DX
    dy[0::2] = (j[:-1] - j[1:]) / (RHO * w)
    dy[1::2] = (f[:-1] - f[1:]) / (RHO * w) / 1e5


@njit(fastmath=True, error_model="numpy")
def rhs_numba(y, dy, ta, tr, tb, pa, hc, hb):
    """The same, compiled, one pass over the nodes."""
    jb, qb = 0.0, 0.0
    xp = pp = dp = kvp = kp = thp = 0.0
    for i in range(N):
        x = y[2 * i]
        th = 1e5 * y[2 * i + 1] / (CS + CW * x)
        t = th + 273.15
        logit = (math.log(100 * max(x, 1e-12)) - ISO_A + ISO_T * th) / ISO_B
        lt = math.log(t)
        p = math.exp(77.345 + 0.0057 * t - 7235 / t - 8.2 * lt) / (1 + math.exp(-logit))
        d = D0 * math.exp(-EA / R * (1 / t - 1 / TREF))
        s = 1 - p / P
        sp = 0.5 * (s + math.sqrt(s * s + DELTA * DELTA))
        dva = PHITAU * 2.26e-5 * math.exp(1.81 * (lt - 5.610021094841726))
        kd = KAPPA * P * (1 - s + sp) / (1.23e-5 * t / 373.15)
        kv = dva * kd / (sp * kd + dva) * MW / (R * t)
        k = K0 + K1 * x
        if i == 0:
            j, q = 0.0, hb * (tb - t)
        else:
            jl = -RHO * 0.5 * (d + dp) * (x - xp) / DX
            jv = -0.5 * (kv + kvp) * (p - pp) / DX
            thm = 0.5 * (th + thp)
            j = jl + jv
            q = -0.5 * (k + kp) * (th - thp) / DX + CW * thm * j + (LAM0 - LAM1 * thm) * jv
            w = RHO * (0.5 * DX if i == 1 else DX)
            dy[2 * i - 2] = (jb - j) / w
            dy[2 * i - 1] = (qb - q) / w / 1e5
        jb, qb = j, q
        xp, pp, dp, kvp, kp, thp = x, p, d, kv, k, th
        if i == N - 1:
            km = hc * 287.05 * 0.5 * (ta + t) / (P * 1010) * LEWIS
            j = km * MW / R * (p / t - pa / ta)
            q = -(hc * (ta - t) + EPS * SIGMA * (tr**4 - t**4)) + j * (CW * th + LAM0 - LAM1 * th)
            w = RHO * 0.5 * DX
            dy[2 * i] = (jb - j) / w
            dy[2 * i + 1] = (qb - q) / w / 1e5


def start():
    y = np.empty(2 * N)
    y[0::2] = 0.45
    y[1::2] = (CS + CW * 0.45) * 25.0 / 1e5
    return y


def mean(y):
    x = y[0::2]
    return (x.sum(axis=0) - 0.5 * (x[0] + x[-1])) / (N - 1)


def stages(times, one_stage):
    """Runs the three zones, restarting at each border; mean moisture at the times asked."""
    y, t0, out = start(), 0.0, np.empty(len(times))
    for zone in ZONES:
        t1 = t0 + zone[0]
        inside = [i for i, t in enumerate(times) if t0 - 1e-9 <= t <= t1 + 1e-9]
        ask = np.array([min(max(times[i] - t0, 0.0), zone[0]) for i in inside])
        y, moist = one_stage(y, zone, ask)
        out[inside] = moist
        t0 = t1
    return out


BAND = diags([1.0] * 7, range(-3, 4), shape=(2 * N, 2 * N))


def scipy_bdf(rtol):
    atol = np.where(np.arange(2 * N) % 2 == 0, 0.05, 0.5) * rtol

    def one(y, zone, ask):
        def f(_, y):
            dy = np.empty_like(y)
            rhs_numpy(y, dy, zone)
            return dy

        ends = np.append(ask, zone[0])
        r = solve_ivp(f, (0, zone[0]), y, "BDF", rtol=rtol, atol=atol, jac_sparsity=BAND, t_eval=np.unique(ends), first_step=0.02)
        assert r.success, r.message
        at = np.searchsorted(r.t, ask - 1e-12)
        return r.y[:, -1], mean(r.y[:, at])

    return one


def cvode(rtol):
    atol = np.where(np.arange(2 * N) % 2 == 0, 0.05, 0.5) * rtol

    def one(y, zone, ask):
        args = tuple(zone[1:])

        def f(t, y, dy):
            rhs_numba(y, dy, *args)

        solver = CVODE(f, method="BDF", rtol=rtol, atol=atol, linsolver="band", lband=3, uband=3, max_num_steps=100000)
        # More than two times, or every step would be handed back.
        span = np.unique(np.concatenate([[0.0, 0.5 * zone[0], zone[0]], ask]))
        r = solver.solve(span, y)
        assert r.success, r.message
        at = np.searchsorted(r.t, ask - 1e-12)
        return r.y[-1].copy(), mean(r.y.T[:, at])

    return one


def best(run, least_s=1.0):
    """Best time in ms of several runs."""
    times, begin = [], time.perf_counter()
    while len(times) < 3 or (time.perf_counter() - begin < least_s and len(times) < 200):
        t = time.perf_counter()
        run()
        times.append(time.perf_counter() - t)
    return 1e3 * min(times)


def main():
    if len(sys.argv) > 1:
        binary = sys.argv[1]
    else:
        target = os.environ.get("CARGO_TARGET_DIR", "target")
        found = [f for f in glob.glob(f"{target}/release/deps/bake-*") if os.access(f, os.X_OK) and "." not in os.path.basename(f)]
        if not found:
            sys.exit("no bench binary: cargo build --release -p baking --benches, then give its path")
        binary = max(found, key=os.path.getmtime)

    def ours(accuracy):
        return json.loads(subprocess.run([binary, "--json", "steel", accuracy], capture_output=True, check=True, text=True).stdout)

    truth = ours("tight")
    times, exact = truth["t_s"], np.array(truth["X_mean"])
    ends = [0.0, sum(z[0] for z in ZONES)]

    def error(moist):
        return float(np.max(np.abs(np.asarray(moist) - exact)) / exact[0])

    rows = [(name, run["ms"], error(run["X_mean"])) for name, run in
            (("hardtack quick", ours("quick")), ("hardtack 1e-3", ours("1e-3")), ("hardtack 1e-4", ours("1e-4")))]
    others = {"SciPy BDF, numpy": scipy_bdf, "CVODE band, numba": cvode}
    table = {}
    for name, solver in others.items():
        table[name] = []
        for rtol in (1e-2, 1e-3, 1e-4, 1e-5, 1e-6):
            try:
                err = error(stages(times, solver(rtol)))
            except (AssertionError, RuntimeError, ArithmeticError) as failure:
                print(f"{name:<20} rtol {rtol:.0e}  fails: {failure}")
                continue
            # Timed without histories, as ours is.
            ms = best(lambda s=solver, r=rtol: stages(ends, s(r)))
            table[name].append((rtol, ms, err))
            print(f"{name:<20} rtol {rtol:.0e}  {ms:9.2f} ms  error {err:.1e}")
    for name, ms, err in rows:
        print(f"{name:<20} {'':11} {ms:9.3f} ms  error {err:.1e}")
        for other, runs in table.items():
            like = [r for r in runs if r[2] <= 2 * err] or [min(runs, key=lambda r: r[2])]
            rtol, other_ms, other_err = min(like, key=lambda r: r[1])
            print(f"    {other:<20} {other_ms / ms:8.0f} × as long ({other_ms:.2f} ms, error {other_err:.1e} at rtol {rtol:.0e})")


if __name__ == "__main__":
    main()
