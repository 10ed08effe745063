//! Right-hand side and Jacobian of a group of columns: the through-thickness fluxes in three directions.
//!
//! Every group works out the fluxes through all six sides of its own nodes; seen from the other side the same
//! arithmetic gives the same number with the other sign, so nothing is lost between columns.
//! Rates are those of V·X and V·E, so that nothing is divided by the volume of a small cell.

#![allow(
    clippy::needless_range_loop,
    reason = "loops over lanes by index are what vectorises"
)]

use super::grid::{Face, Group, SIDES};
use crate::bake::kernel::{E_UNIT, Fields, Material, Property, Surroundings, Totals, surface};
use crate::bake::laws::Gas;
use crate::numerics::block_tridiagonal::Block;
use crate::numerics::blocks;
use crate::numerics::lanes::{LANES, Lanes};

/// A 2×2 block of each lane.
pub(super) type Blocks = blocks::Blocks<LANES>;
const NONE: Blocks = [[0.0; LANES]; 4];
/// The same in single precision: between columns the Jacobian needs no more, and half the memory passes by.
pub(super) type Short = [[f32; LANES]; 4];

/// One group's part of the Jacobian of V·y', with the sign that makes the matrix positive.
#[derive(Clone, Debug, Default)]
pub(super) struct Rows {
    pub diagonal: Vec<Blocks>,
    pub lower: Vec<Blocks>,
    pub upper: Vec<Blocks>,
    pub side: [Vec<Short>; SIDES],
    /// Derivatives of water out and heat in through the surfaces of the nodes with any, in order.
    pub totals: Vec<Block>,
}

impl Rows {
    pub(super) fn resize(&mut self, nodes: usize, faces: usize) {
        for v in [&mut self.diagonal, &mut self.lower, &mut self.upper] {
            v.clear();
            v.resize(nodes, NONE);
        }
        for v in &mut self.side {
            v.clear();
            v.resize(nodes, [[0.0; LANES]; 4]);
        }
        self.totals.clear();
        self.totals.resize(faces, [0.0; 4]);
    }
}

/// Shares of the surface laws, 0 to 1.
#[derive(Clone, Copy, Debug)]
pub(super) struct Shares {
    /// Share of the top's law at the outer wall \[1\].
    pub wall: f64,
    /// Share at the wall of a hole \[1\].
    pub hole: f64,
}

/// Values of a node, and derivatives by X and by E.
struct Node {
    x: Lanes,
    v: [Lanes; 5],
    by_x: [Lanes; 5],
    by_e: [Lanes; 5],
}

#[inline(always)]
fn all(f: &Fields) -> [&Property; 5] {
    [&f.theta, &f.p, &f.d, &f.kv, &f.k]
}

#[inline(always)]
fn own<const SLOPES: bool>(f: &Fields, k: usize) -> Node {
    let zero = [[0.0; LANES]; 5];
    let i = k * LANES;
    let p = all(f);
    Node {
        x: f.x.load(i),
        v: p.map(|p| p.v.load(i)),
        by_x: if SLOPES { p.map(|p| p.x.load(i)) } else { zero },
        by_e: if SLOPES { p.map(|p| p.e.load(i)) } else { zero },
    }
}

/// The neighbours' values: lane l from column `from[l]` of the other colour.
#[inline(always)]
fn gathered<const SLOPES: bool>(others: &[Fields], from: &[u32; LANES], k: usize) -> Node {
    let zero = [0.0; LANES];
    let mut node = Node {
        x: zero,
        v: [zero; 5],
        by_x: [zero; 5],
        by_e: [zero; 5],
    };
    for l in 0..LANES {
        let column = from[l] as usize;
        let f = &others[column / LANES];
        let i = k * LANES + column % LANES;
        node.x[l] = f.x.0[i];
        let p = all(f);
        for q in 0..5 {
            node.v[q][l] = p[q].v.0[i];
            if SLOPES {
                node.by_x[q][l] = p[q].x.0[i];
                node.by_e[q][l] = p[q].e.0[i];
            }
        }
    }
    node
}

/// Flux from a to b through a side with `open` = area over distance, and its derivatives.
struct Flux {
    out: [Lanes; 2],
    by_a: Blocks,
    by_b: Blocks,
}

#[inline(always)]
fn flux<const SLOPES: bool>(m: &Material, a: &Node, b: &Node, open: &Lanes) -> Flux {
    let [l0, l1, l2] = m.latent;
    let mut f = Flux {
        out: [[0.0; LANES]; 2],
        by_a: NONE,
        by_b: NONE,
    };
    let per_solid = 1.0 / m.rho_s;
    let per_heat = per_solid / E_UNIT;
    for l in 0..LANES {
        let theta = 0.5 * (a.v[0][l] + b.v[0][l]);
        let (grad_x, grad_p, grad_t) = (
            b.x[l] - a.x[l],
            b.v[1][l] - a.v[1][l],
            b.v[0][l] - a.v[0][l],
        );
        let d = m.rho_s * 0.5 * (a.v[2][l] + b.v[2][l]);
        let v = 0.5 * (a.v[3][l] + b.v[3][l]);
        let k = 0.5 * (a.v[4][l] + b.v[4][l]);
        let vapour = -v * grad_p;
        let water = (-d).mul_add(grad_x, vapour);
        let latent = theta.mul_add(theta.mul_add(l2, l1), l0);
        let carried = m.c_w * theta;
        let heat = (-k).mul_add(grad_t, carried.mul_add(water, latent * vapour));
        let (to_x, to_e) = (open[l] * per_solid, open[l] * per_heat);
        f.out[0][l] = to_x * water;
        f.out[1][l] = to_e * heat;
        if SLOPES {
            let latent_t = (2.0 * l2).mul_add(theta, l1);
            let q_theta = 0.5 * m.c_w.mul_add(water, latent_t * vapour);
            let side = |n: &Node, sign: f64, by: &mut Blocks| {
                for (u, own, s) in [(0, 1.0, &n.by_x), (1, 0.0, &n.by_e)] {
                    let vapour_u = (-0.5 * grad_p).mul_add(s[3][l], -sign * v * s[1][l]);
                    let liquid_u = (-0.5 * m.rho_s * grad_x).mul_add(s[2][l], -sign * own * d);
                    let water_u = vapour_u + liquid_u;
                    let t = s[0][l] * (-sign).mul_add(k, q_theta);
                    let conducted = (-0.5 * grad_t).mul_add(s[4][l], t);
                    by[u][l] = to_x * water_u;
                    by[2 + u][l] =
                        to_e * carried.mul_add(water_u, latent.mul_add(vapour_u, conducted));
                }
            };
            side(a, -1.0, &mut f.by_a);
            side(b, 1.0, &mut f.by_b);
        }
    }
    f
}

#[inline(always)]
fn add(to: &mut Blocks, sign: f64, b: &Blocks) {
    for c in 0..4 {
        for l in 0..LANES {
            to[c][l] += sign * b[c][l];
        }
    }
}

#[expect(
    clippy::too_many_arguments,
    reason = "parts of one workspace, borrowed apart"
)]
/// Rates of a group, and with `SLOPES` its rows; gives what passes the surfaces \[kg/s, W\].
#[inline(always)]
pub(super) fn rates<const SLOPES: bool>(
    m: &Material,
    s: &Surroundings,
    shares: Shares,
    group: &Group,
    f: &Fields,
    others: &[Fields],
    rows: &mut Rows,
    out: &mut [Lanes],
) -> Totals {
    let nodes = group.volume.len();
    let mut here = own::<SLOPES>(f, 0);
    out.fill([0.0; LANES]);
    if SLOPES {
        rows.diagonal.fill(NONE);
    }
    for k in 0..nodes {
        for direction in 0..SIDES {
            let open = &group.side[direction][k];
            let there = gathered::<SLOPES>(others, &group.neighbour[direction], k);
            let flux = flux::<SLOPES>(m, &here, &there, open);
            for l in 0..LANES {
                out[2 * k][l] -= flux.out[0][l];
                out[2 * k + 1][l] -= flux.out[1][l];
            }
            if SLOPES {
                add(&mut rows.diagonal[k], 1.0, &flux.by_a);
                for c in 0..4 {
                    for l in 0..LANES {
                        rows.side[direction][k][c][l] = flux.by_b[c][l] as f32;
                    }
                }
            }
        }
        if k + 1 < nodes {
            let next = own::<SLOPES>(f, k + 1);
            let flux = flux::<SLOPES>(m, &here, &next, &group.above[k]);
            for l in 0..LANES {
                for q in 0..2 {
                    out[2 * k + q][l] -= flux.out[q][l];
                    out[2 * k + 2 + q][l] += flux.out[q][l];
                }
            }
            if SLOPES {
                add(&mut rows.diagonal[k], 1.0, &flux.by_a);
                add(&mut rows.diagonal[k + 1], -1.0, &flux.by_b);
                rows.upper[k] = flux.by_b;
                for c in 0..4 {
                    for l in 0..LANES {
                        rows.lower[k + 1][c][l] = -flux.by_a[c][l];
                    }
                }
            }
            here = next;
        }
    }
    surfaces::<SLOPES>(m, s, shares, &group.faces, f, rows, out)
}

/// Adds what passes the surfaces.
#[inline(always)]
fn surfaces<const SLOPES: bool>(
    m: &Material,
    s: &Surroundings,
    shares: Shares,
    faces: &[Face],
    f: &Fields,
    rows: &mut Rows,
    out: &mut [Lanes],
) -> Totals {
    let mut totals = Totals::default();
    let (per_solid, per_heat) = (1.0 / m.rho_s, 1.0 / (m.rho_s * E_UNIT));
    let (over, under) = (s.over(m.moved.emissivity), s.under());
    for (n, face) in faces.iter().enumerate() {
        let i = face.place as usize;
        let (k, l) = (i / LANES, i % LANES);
        let (mut flow, mut slope) = ([0.0; 2], [0.0; 4]);
        let mut take = |area: f64, gas: &Gas<f64>| {
            if area > 0.0 {
                let (o, d) = surface(m, f, i, gas);
                for q in 0..2 {
                    flow[q] += area * o[q];
                }
                for q in 0..4 {
                    slope[q] += area * d[q];
                }
            }
        };
        take(face.top, &over);
        take(face.bottom, &under);
        let side = face.wall * shares.wall + face.hole * shares.hole;
        take(side, &over);
        totals.water += flow[0];
        totals.heat += flow[1];
        out[2 * k][l] -= per_solid * flow[0];
        out[2 * k + 1][l] += per_heat * flow[1];
        if SLOPES {
            rows.totals[n] = slope;
            let d = &mut rows.diagonal[k];
            d[0][l] += per_solid * slope[0];
            d[1][l] += per_solid * slope[1];
            d[2][l] -= per_heat * slope[2];
            d[3][l] -= per_heat * slope[3];
        }
    }
    totals
}
