#!/usr/bin/env python3
"""Times the solid bake against SciPy's BDF with a sparse Jacobian on the same equations and the same grid.

A quarter of a bar of 36 x 24 x 8 mm on 2 mm and 8 cells, three zones. The Rust side is run by this script, so that
both are timed in one run on the same machine.

    python3 tools/bench_solid.py crates/baking/tests/data/bake_reference_a.json
"""

import json
import subprocess
import sys
import time

import numpy as np
from scipy.integrate import solve_ivp
from scipy.sparse import diags, kron

from solid_axisymmetric import Disc

EXPOSURE = 0.5


class Bar(Disc):
    """Nodes (i, j, k) on a quarter bar; outer nodes and those on the mirrors own half cells."""

    def __init__(self, params, length, width, step, cells):
        self.p = params
        axes = [
            np.linspace(0, length / 2, round(length / 2 / step) + 1),
            np.linspace(0, width / 2, round(width / 2 / step) + 1),
            np.linspace(0, params["L"], cells + 1),
        ]
        self.shape = tuple(len(a) for a in axes)
        self.step = [a[1] for a in axes]
        spans = []
        for a in axes:
            span = np.full(len(a), a[1])
            span[[0, -1]] *= 0.5
            spans.append(span)
        x, y, z = spans
        self.volume = x[:, None, None] * y[None, :, None] * z[None, None, :]
        self.across = [
            (y[:, None] * z[None, :])[None, :, :],
            (x[:, None] * z[None, :])[:, None, :],
            (x[:, None] * y[None, :])[:, :, None],
        ]

    def rates(self, y, st, exposure):
        p = self.p
        n = int(np.prod(self.shape))
        yy = y.reshape(*self.shape, 2)
        x, e = yy[..., 0], yy[..., 1] * 1e5
        laws = self.laws(x, e)
        rho = p["rho_s"]
        w, q = np.zeros_like(x), np.zeros_like(x)
        for axis in range(3):
            low = tuple(slice(None, -1) if a == axis else slice(None) for a in range(3))
            high = tuple(slice(1, None) if a == axis else slice(None) for a in range(3))
            j, h = self.flux([v[low] for v in laws], [v[high] for v in laws], x[low], x[high], rho)
            area = self.across[axis] / self.step[axis]
            for to, f in ((w, j), (q, h)):
                to[low] -= area * f
                to[high] += area * f
        th, pv = laws[0], laws[1]
        top = self.across[2][:, :, 0]
        for where, area, band in (
            (np.s_[:, :, -1], top, False),
            (np.s_[:, :, 0], top, True),
            (np.s_[-1, :, :], self.across[0][0] * exposure, False),
            (np.s_[:, -1, :], self.across[1][:, 0] * exposure, False),
        ):
            vapour = st["km"] * (st["open"] if band else 1.0)
            j, h = self.surface(th[where], pv[where], st, st["hc"], st["Ta"], p["eps"], vapour)
            if band:
                t = th[where] + 273.15
                carried = p["c_w"] * th[where] + p["lam0"] - p["lam1"] * th[where]
                h = st["hb"] * (st["Tb"] - t) - j * carried
            w[where] -= area * j
            q[where] += area * h
        dy = np.empty((n, 2))
        dy[:, 0] = (w / (rho * self.volume)).ravel()
        dy[:, 1] = (q / (rho * self.volume * 1e5)).ravel()
        return dy.ravel()

    def pattern(self):
        _, b, c = self.shape
        n = int(np.prod(self.shape))
        near = diags([1.0] * 7, [0, 1, -1, c, -c, b * c, -b * c], shape=(n, n))
        return kron(near, np.ones((2, 2))).tocsr()

    def bake(self, stages, rtol):
        p = self.p
        e0 = (p["c_s"] + p["c_w"] * p["X0"]) * (p["T0"] - 273.15) / 1e5
        y = np.tile([p["X0"], e0], int(np.prod(self.shape)))
        share = (self.volume / self.volume.sum()).ravel()
        pattern, means = self.pattern(), []
        for st in stages:
            got = solve_ivp(
                lambda t, y: self.rates(y, st, EXPOSURE),
                (0.0, st["dur"]),
                y,
                method="BDF",
                rtol=rtol,
                atol=0.05 * rtol,
                first_step=1e-2,
                jac_sparsity=pattern,
                t_eval=[st["dur"]],
            )
            assert got.success, got.message
            y = got.y[:, -1]
            means.append(float(share @ y[0::2]))
        return means


def main(case_file):
    with open(case_file, encoding="utf-8") as f:
        case = json.load(f)["case"]
    stages = case["stages"][:3]
    bar = Bar(case["params"], 0.036, 0.024, 2e-3, 8)
    command = ["cargo", "bench", "-q", "-p", "baking", "--bench", "solid", "--", "bar"]
    ours = json.loads(subprocess.run(command, check=True, capture_output=True, text=True).stdout)
    truth = bar.bake(stages, 1e-6)
    print(f"{int(np.prod(bar.shape))} nodes; mean moisture at the end of the zones {truth}")

    def tell(name, seconds, means):
        worst = max(abs(m - t) for m, t in zip(means, truth))
        print(f"{name:<28} {seconds:8.3f} s   largest difference {worst:.1e}")
        return seconds

    fast = [tell(f"solid bake, {r['tolerance']:.0e}", r["seconds"], r["mean_moisture"]) for r in ours]
    for rtol in (1e-3, 1e-4):
        start = time.perf_counter()
        means = bar.bake(stages, rtol)
        slow = tell(f"SciPy BDF, rtol {rtol:.0e}", time.perf_counter() - start, means)
        print(f"{'':<28} {slow / fast[0]:8.0f} times the quick solid bake")


if __name__ == "__main__":
    main(sys.argv[1])
