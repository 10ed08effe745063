#!/usr/bin/env python3
"""A disc that bakes, in radius and height: the reference of the solid bake.

Written apart from the Rust sources, from the equations in docs/model/bake.md: method of lines with nodes on the axis,
the rim, the band and the top, and SciPy's BDF with a sparse Jacobian by differences. Writes the mean moisture
over time of three grids and their Richardson limit.

    python3 tools/solid_axisymmetric.py crates/baking/tests/data/bake_reference_a.json OUT.json
"""

import json
import sys

import numpy as np
from scipy.integrate import solve_ivp
from scipy.sparse import diags, kron

R, MW, SIGMA, P = 8.314462618, 0.01801528, 5.670374419e-8, 101325.0
RADIUS = 0.015
EXPOSURES = (0.5, 1.0)


class Disc:
    """Nodes (i, k): radius i·dr, height k·dz; outer nodes own half cells."""

    def __init__(self, params, nr, nz):
        self.p = params
        self.nr, self.nz = nr + 1, nz + 1
        r = np.linspace(0.0, RADIUS, self.nr)
        z = np.linspace(0.0, params["L"], self.nz)
        self.dr, self.dz = r[1], z[1]
        edges = np.concatenate(([0.0], 0.5 * (r[1:] + r[:-1]), [RADIUS]))
        height = np.full(self.nz, self.dz)
        height[[0, -1]] *= 0.5
        self.area = np.pi * (edges[1:] ** 2 - edges[:-1] ** 2)
        self.height = height
        self.volume = self.area[:, None] * height[None, :]
        self.inner = 2 * np.pi * edges[1:-1][:, None] * height[None, :] / self.dr
        self.up = np.repeat(self.area[:, None] / self.dz, self.nz - 1, axis=1)
        self.rim = 2 * np.pi * RADIUS * height

    def theta(self, x, e):
        return e / (self.p["c_s"] + self.p["c_w"] * x)

    def laws(self, x, e):
        p = self.p
        th = self.theta(x, e)
        t = th + 273.15
        lx = np.log(100.0 * np.maximum(x, 1e-12))
        logit = (lx - p["isoA"] + p["isoT"] * th) / p["isoB"]
        aw = 1.0 / (1.0 + np.exp(-logit))
        psat = np.exp(77.345 + 0.0057 * t - 7235.0 / t) / t**8.2
        pv = aw * psat
        dl = p["D0"] * np.exp(-p["Ea"] / R * (1 / t - 1 / p["Tref"]) + p["bX"] * x)
        s = 1.0 - pv / P
        sp = 0.5 * (s + np.sqrt(s * s + p["delta"] ** 2))
        dva = p["phitau"] * 2.26e-5 * (t / 273.15) ** 1.81
        kd = p["DK"] + p["kappa"] * P * (1 - s + sp) / (1.23e-5 * t / 373.15)
        kv = dva * kd / (sp * kd + dva) * MW / (R * t)
        return th, pv, dl, kv, p["k0"] + p["k1"] * x

    def flux(self, a, b, xa, xb, rho):
        """Water and heat from a to b per area over distance."""
        p = self.p
        tha, pa, da, va, ka = a
        thb, pb, db, vb, kb = b
        th = 0.5 * (tha + thb)
        jl = -rho * 0.5 * (da + db) * (xb - xa)
        jv = -0.5 * (va + vb) * (pb - pa)
        lam = p["lam0"] - p["lam1"] * th
        return jl + jv, -0.5 * (ka + kb) * (thb - tha) + p["c_w"] * th * (jl + jv) + lam * jv

    def surface(self, th, pv, st, h, gas, emissivity, vapour):
        """Water leaving and heat entering per area."""
        p = self.p
        t = th + 273.15
        film = 0.5 * (st["Ta"] + t)
        km = h * 287.05 * film / (P * 1010.0) * 0.86 ** (-2.0 / 3.0)
        j = vapour * km * MW / R * (pv / t - st["pa"] / st["Ta"])
        q = h * (gas - t) + emissivity * SIGMA * (st["Tr"] ** 4 - t**4)
        return j, q - j * (p["c_w"] * th + p["lam0"] - p["lam1"] * th)

    def rates(self, y, st, exposure):
        p = self.p
        n = self.nr * self.nz
        yy = y[: 2 * n].reshape(self.nr, self.nz, 2)
        x, e = yy[..., 0], yy[..., 1] * 1e5
        laws = self.laws(x, e)
        rho = p["rho_s"]
        w, q = np.zeros_like(x), np.zeros_like(x)
        lower, upper = [v[:, :-1] for v in laws], [v[:, 1:] for v in laws]
        j, h = self.flux(lower, upper, x[:, :-1], x[:, 1:], rho)
        for to, f in ((w, j), (q, h)):
            to[:, :-1] -= self.up * f
            to[:, 1:] += self.up * f
        inside, outside = [v[:-1] for v in laws], [v[1:] for v in laws]
        j, h = self.flux(inside, outside, x[:-1], x[1:], rho)
        for to, f in ((w, j), (q, h)):
            to[:-1] -= self.inner * f
            to[1:] += self.inner * f
        th, pv = laws[0], laws[1]
        out = 0.0
        for where, area, coefficient, gas, eps, vapour in (
            (np.s_[:, -1], self.area, st["hc"], st["Ta"], p["eps"], st["km"]),
            (np.s_[:, 0], self.area, None, st["Tb"], 0.0, st["km"] * st["open"]),
            (np.s_[-1, :], self.rim * exposure, st["hc"], st["Ta"], p["eps"], st["km"]),
        ):
            if coefficient is None:
                # The band: its own coefficient for heat, the air's for vapour.
                j, _ = self.surface(th[where], pv[where], st, st["hc"], st["Ta"], 0.0, vapour)
                t = th[where] + 273.15
                h = st["hb"] * (gas - t) - j * (
                    p["c_w"] * th[where] + p["lam0"] - p["lam1"] * th[where]
                )
            else:
                j, h = self.surface(th[where], pv[where], st, coefficient, gas, eps, vapour)
            w[where] -= area * j
            q[where] += area * h
            out += np.sum(area * j)
        dy = np.empty_like(y)
        rate = dy[: 2 * n].reshape(self.nr, self.nz, 2)
        rate[..., 0] = w / (rho * self.volume)
        rate[..., 1] = q / (rho * self.volume * 1e5)
        return dy

    def pattern(self):
        n = self.nr * self.nz
        near = diags([1.0] * 5, [0, 1, -1, self.nz, -self.nz], shape=(n, n))
        return kron(near, np.ones((2, 2))).tocsr()

    def bake(self, stages, exposure, times):
        p = self.p
        x0 = p["X0"]
        e0 = (p["c_s"] + p["c_w"] * x0) * (p["T0"] - 273.15) / 1e5
        y = np.tile([x0, e0], self.nr * self.nz)
        share = self.volume.ravel() / self.volume.sum()
        begin, rows = 0.0, []
        for st in stages:
            end = begin + st["dur"]
            asked = [t for t in times if begin < t <= end + 1e-9]
            got = solve_ivp(
                lambda t, y: self.rates(y, st, exposure),
                (begin, end),
                y,
                method="BDF",
                t_eval=sorted(set(asked + [end])),
                rtol=1e-5,
                atol=1e-7,
                first_step=1e-3,
                jac_sparsity=self.pattern(),
            )
            assert got.success, got.message
            for t, column in zip(got.t, got.y.T):
                if any(abs(t - a) < 1e-9 for a in asked):
                    rows.append(float(share @ column[0::2]))
            y = got.y[:, -1]
            begin = end
        return rows


def main(case_file, out_file):
    with open(case_file, encoding="utf-8") as f:
        case = json.load(f)["case"]
    # The three zones of the oven.
    stages = case["stages"][:3]
    times = [240.0, 360.0, 480.0, 600.0, 700.0, 800.0, 900.0]
    result = {
        "what": "mean moisture of a baking disc, kg water per kg dry solid; computed with SciPy BDF, rtol 1e-5",
        "radius_m": RADIUS,
        "thickness_m": case["params"]["L"],
        "time_s": times,
        "exposures": [],
    }
    for exposure in EXPOSURES:
        grids = {}
        for nr, nz in ((30, 20), (60, 40)):
            grids[f"{nr}x{nz}"] = Disc(case["params"], nr, nz).bake(stages, exposure, times)
            print(exposure, nr, nz, grids[f"{nr}x{nz}"], flush=True)
        coarse, fine = grids["30x20"], grids["60x40"]
        limit = [(4 * b - a) / 3 for a, b in zip(coarse, fine)]
        result["exposures"].append({"exposure": exposure, "grids": grids, "extrapolated": limit})
    with open(out_file, "w", encoding="utf-8") as f:
        json.dump(result, f, indent=1)
        f.write("\n")


if __name__ == "__main__":
    main(*sys.argv[1:3])
