//! Time stepping of the solid bake: Rodas3 with the same step control as through the thickness.

#![allow(
    clippy::needless_range_loop,
    reason = "loops over lanes by index are what vectorises"
)]

use super::balance::{Rows, Shares, rates};
use super::chessboard::{Krylov, System};
use super::grid::{Grid, Group};
use super::lines::Eliminated;
use crate::bake::kernel::{self, E_UNIT, Fields, Material, State, Surroundings, Totals};
use crate::numerics::lanes::{LANES, Lanes, padded};
use crate::numerics::rosenbrock::{Method, RODAS3};
use pulp::{Arch, NullaryFnOnce};
use rayon::prelude::*;

/// The method.
pub(super) static METHOD: &Method = &RODAS3;
const STAGES: usize = 4;
/// Residual that is left in a stage, as a share of the step's tolerance.
///
/// - Units: \[1\]
/// - Source: a numerical tolerance, chosen here
const LINEAR_SHARE: f64 = 0.05;
/// A step that ends drier than this is refused.
///
/// - Units: \[kg/kg dry solid\]
/// - Source: a numerical limit, chosen here
const DRIEST: f64 = -1e-3;

/// Everything a solid bake works with.
pub(super) struct Work {
    pub arch: Arch,
    pub m: Material,
    pub grid: Grid,
    pub fields: Vec<Fields>,
    states: Vec<State>,
    rows: Vec<Rows>,
    factors: Vec<Eliminated>,
    pub y: Vec<Lanes>,
    pub next: Vec<Lanes>,
    rates_at_start: Vec<Lanes>,
    rates: Vec<Lanes>,
    pub stages: [Vec<Lanes>; STAGES],
    pub stage_totals: [Totals; STAGES],
    weights: Vec<Lanes>,
    krylov: Krylov,
    pub iterations: usize,
}

/// What a tried step gave.
pub(super) struct Tried {
    /// Error in units of the tolerance.
    pub error: f64,
    pub gained: Totals,
}

/// A state and what is added to it: factors and stages.
type Past<'a> = [(f64, &'a [Lanes])];

struct Look<'a> {
    m: &'a Material,
    y: &'a [Lanes],
    past: &'a Past<'a>,
    from: usize,
    state: &'a mut State,
    fields: &'a mut Fields,
    slopes: bool,
    credited_s: Option<f64>,
}
impl NullaryFnOnce for Look<'_> {
    type Output = ();
    #[inline(always)]
    fn call(self) {
        for (k, nodes) in self.state.chunks_exact_mut(LANES).enumerate() {
            let Some(pair) = self.y.get(2 * k..2 * k + 2) else {
                break;
            };
            let (mut x, mut e) = (pair[0], pair[1]);
            for (factor, u) in self.past {
                let u = &u[self.from + 2 * k..][..2];
                for l in 0..LANES {
                    x[l] = factor.mul_add(u[0][l], x[l]);
                    e[l] = factor.mul_add(u[1][l], e[l]);
                }
            }
            for l in 0..LANES {
                nodes[l] = [x[l], e[l]];
            }
        }
        if self.slopes {
            kernel::properties::<true>(self.m, self.state, self.fields);
        } else {
            kernel::properties::<false>(self.m, self.state, self.fields);
        }
        if let Some(time_s) = self.credited_s {
            kernel::add_kill(self.m, self.fields, time_s);
        }
    }
}

struct Balance<'a> {
    m: &'a Material,
    s: &'a Surroundings,
    shares: Shares,
    group: &'a Group,
    own: &'a Fields,
    others: &'a [Fields],
    rows: &'a mut Rows,
    out: &'a mut [Lanes],
    slopes: bool,
}
impl NullaryFnOnce for Balance<'_> {
    type Output = Totals;
    #[inline(always)]
    fn call(self) -> Totals {
        let Self {
            m,
            s,
            shares,
            group,
            own,
            others,
            rows,
            out,
            slopes,
        } = self;
        if slopes {
            rates::<true>(m, s, shares, group, own, others, rows, out)
        } else {
            rates::<false>(m, s, shares, group, own, others, rows, out)
        }
    }
}

struct Eliminate<'a>(&'a mut Eliminated, &'a Group, &'a Rows, f64);
impl NullaryFnOnce for Eliminate<'_> {
    type Output = ();
    #[inline(always)]
    fn call(self) {
        self.0.eliminate(self.1, self.2, self.3);
    }
}

/// Right-hand side of a stage in a group: V·Σ factor·stage + rates.
struct RightHand<'a> {
    group: &'a Group,
    past: &'a Past<'a>,
    from: usize,
    rates: &'a [Lanes],
    out: &'a mut [Lanes],
}
impl NullaryFnOnce for RightHand<'_> {
    type Output = ();
    #[inline(always)]
    fn call(self) {
        for (i, (out, rate)) in self.out.iter_mut().zip(self.rates).enumerate() {
            let mut sum = [0.0; LANES];
            for (factor, u) in self.past {
                let u = &u[self.from + i];
                for l in 0..LANES {
                    sum[l] = factor.mul_add(u[l], sum[l]);
                }
            }
            let v = &self.group.volume[i / 2];
            for l in 0..LANES {
                out[l] = v[l] * sum[l] + rate[l];
            }
        }
    }
}

/// The new state of a group; gives its share of the squared error, and its driest place.
struct Arrive<'a> {
    group: &'a Group,
    y: &'a [Lanes],
    stages: [&'a [Lanes]; STAGES],
    next: &'a mut [Lanes],
}
impl NullaryFnOnce for Arrive<'_> {
    type Output = (f64, f64);
    #[inline(always)]
    fn call(self) -> (f64, f64) {
        /// Floor of the size that an error is judged against, moisture and energy.
        ///
        /// - Units: in units of the unknowns \[1\]
        /// - Source: a numerical choice
        const FLOOR: [f64; 2] = [0.05, 0.5];
        let (mut all, mut driest) = ([0.0; LANES], [f64::INFINITY; LANES]);
        for (i, (next, y)) in self.next.iter_mut().zip(self.y).enumerate() {
            let mut sum = *y;
            for (m, u) in METHOD.m.iter().zip(self.stages) {
                for l in 0..LANES {
                    sum[l] = m.mul_add(u[i][l], sum[l]);
                }
            }
            let error = &self.stages[STAGES - 1][i];
            let v = &self.group.volume[i / 2];
            for l in 0..LANES {
                let share = error[l] / (y[l].abs().max(sum[l].abs()) + FLOOR[i % 2]);
                all[l] += v[l] * (share * share);
                if i % 2 == 0 {
                    driest[l] = driest[l].min(sum[l]);
                }
            }
            *next = sum;
        }
        let driest = driest.into_iter().fold(f64::INFINITY, f64::min);
        (all.iter().sum(), driest)
    }
}

fn sum(parts: &[Totals]) -> Totals {
    parts.iter().fold(Totals::default(), |a, b| Totals {
        water: a.water + b.water,
        heat: a.heat + b.heat,
    })
}

impl Work {
    pub(super) fn new(m: Material, grid: Grid, start: [f64; 2]) -> Self {
        let groups = grid.groups.len();
        let inside = grid.nodes * LANES;
        let n = groups * 2 * grid.nodes;
        let zero = vec![[0.0; LANES]; n];
        let mut fields = vec![Fields::default(); groups];
        let mut rows = vec![Rows::default(); groups];
        let mut factors = vec![Eliminated::default(); groups];
        for g in 0..groups {
            fields[g].resize(inside);
            rows[g].resize(grid.nodes, grid.groups[g].faces.len());
            factors[g].resize(grid.nodes);
        }
        let mut y = zero.clone();
        for pair in y.chunks_exact_mut(2) {
            pair[0] = [start[0]; LANES];
            pair[1] = [start[1]; LANES];
        }
        Self {
            arch: Arch::new(),
            m,
            fields,
            states: vec![vec![start; padded(inside)]; groups],
            rows,
            factors,
            y,
            next: zero.clone(),
            rates_at_start: zero.clone(),
            rates: zero.clone(),
            stages: std::array::from_fn(|_| zero.clone()),
            stage_totals: Default::default(),
            weights: zero,
            krylov: Krylov::default(),
            iterations: 0,
            grid,
        }
    }

    /// Properties of the present state, with the kill of the time since the last look.
    pub(super) fn look(&mut self, credited_s: Option<f64>) {
        Self::look_at(
            self.arch,
            &self.m,
            (&self.y, &[]),
            (&mut self.states, &mut self.fields),
            true,
            credited_s,
        );
    }

    fn look_at(
        arch: Arch,
        m: &Material,
        (y, past): (&[Lanes], &Past<'_>),
        (states, fields): (&mut [State], &mut [Fields]),
        slopes: bool,
        credited_s: Option<f64>,
    ) {
        let stride = y.len() / fields.len();
        fields
            .par_iter_mut()
            .zip(states)
            .zip(y.par_chunks(stride))
            .enumerate()
            .with_min_len(2)
            .for_each(|(g, ((fields, state), y))| {
                arch.dispatch(Look {
                    m,
                    y,
                    past,
                    from: g * stride,
                    state,
                    fields,
                    slopes,
                    credited_s,
                });
            });
    }

    #[expect(
        clippy::too_many_arguments,
        reason = "parts of one workspace, borrowed apart"
    )]
    fn balance(
        arch: Arch,
        m: &Material,
        s: &Surroundings,
        shares: Shares,
        grid: &Grid,
        fields: &[Fields],
        rows: &mut [Rows],
        out: &mut [Lanes],
        slopes: bool,
    ) -> Totals {
        let (red, black) = fields.split_at(grid.reds);
        let parts: Vec<Totals> = rows
            .par_iter_mut()
            .zip(out.par_chunks_mut(2 * grid.nodes))
            .zip(&grid.groups)
            .enumerate()
            .with_min_len(2)
            .map(|(g, ((rows, out), group))| {
                arch.dispatch(Balance {
                    m,
                    s,
                    shares,
                    group,
                    own: &fields[g],
                    others: if g < grid.reds { black } else { red },
                    rows,
                    out,
                    slopes,
                })
            })
            .collect();
        sum(&parts)
    }

    /// Rates and Jacobian at the start of a step.
    pub(super) fn prepare(&mut self, s: &Surroundings, shares: Shares) -> Totals {
        let per_volume = 1.0 / self.grid.volume;
        let nodes = self.grid.nodes;
        self.weights
            .par_chunks_mut(2 * nodes)
            .zip(self.y.par_chunks(2 * nodes))
            .zip(&self.grid.groups)
            .with_min_len(4)
            .for_each(|((weights, y), group)| {
                for (i, (weight, y)) in weights.iter_mut().zip(y).enumerate() {
                    let floor = [0.05, 0.5][i % 2];
                    for l in 0..LANES {
                        let over = 1.0 / (y[l].abs() + floor);
                        weight[l] = 0.5 * (group.volume[i / 2][l] * per_volume) * over * over;
                    }
                }
            });
        Self::balance(
            self.arch,
            &self.m,
            s,
            shares,
            &self.grid,
            &self.fields,
            &mut self.rows,
            &mut self.rates_at_start,
            true,
        )
    }

    /// Sum of V·X and V·E.
    pub(super) fn held(grid: &Grid, y: &[Lanes]) -> [f64; 2] {
        let mut held = [0.0; 2];
        for (group, y) in grid.groups.iter().zip(y.chunks_exact(2 * grid.nodes)) {
            let mut part = [[0.0; LANES]; 2];
            for (v, pair) in group.volume.iter().zip(y.chunks_exact(2)) {
                for l in 0..LANES {
                    part[0][l] += v[l] * pair[0][l];
                    part[1][l] += v[l] * pair[1][l];
                }
            }
            held[0] += part[0].iter().sum::<f64>();
            held[1] += part[1].iter().sum::<f64>();
        }
        held
    }

    /// What an even change by 1 of X, of E adds to the inflow of V·X and V·E, per time.
    fn even_response(&self) -> [f64; 4] {
        let (per_solid, per_heat) = (1.0 / self.m.rho_s, 1.0 / (self.m.rho_s * E_UNIT));
        let mut r = [0.0; 4];
        for slope in self.rows.iter().flat_map(|r| &r.totals) {
            r[0] -= per_solid * slope[0];
            r[1] -= per_solid * slope[1];
            r[2] += per_heat * slope[2];
            r[3] += per_heat * slope[3];
        }
        r
    }

    /// Tries a step of `h` seconds; the new state is in `next`.
    pub(super) fn attempt(
        &mut self,
        s: &Surroundings,
        shares: Shares,
        (h, tolerance): (f64, f64),
        at_start: Totals,
    ) -> Tried {
        let scale = h * METHOD.gamma;
        let (arch, grid) = (self.arch, &self.grid);
        self.factors
            .par_iter_mut()
            .zip(&grid.groups)
            .zip(&self.rows)
            .with_min_len(2)
            .for_each(|((factors, group), rows)| {
                arch.dispatch(Eliminate(factors, group, rows, 1.0 / scale));
            });
        let even = self.even_response();
        let lost = Tried {
            error: f64::INFINITY,
            gained: Totals::default(),
        };
        let mut totals = at_start;
        for i in 0..STAGES {
            if i > 0 && METHOD.new_function[i] {
                let past = weighted(&METHOD.a[i], &self.stages[..i]);
                Self::look_at(
                    arch,
                    &self.m,
                    (&self.y, &past),
                    (&mut self.states, &mut self.fields),
                    false,
                    None,
                );
                totals = Self::balance(
                    arch,
                    &self.m,
                    s,
                    shares,
                    &self.grid,
                    &self.fields,
                    &mut self.rows,
                    &mut self.rates,
                    false,
                );
            } else if i == 0 {
                self.rates.copy_from_slice(&self.rates_at_start);
            }
            let (before, rest) = self.stages.split_at_mut(i);
            let stage = &mut rest[0];
            let share = METHOD.c[i].map(|c| c / h);
            let mut past = Totals::default();
            for (c, total) in share.iter().zip(&self.stage_totals[..i]) {
                past.water += c * total.water;
                past.heat += c * total.heat;
            }
            let stride = 2 * self.grid.nodes;
            let before = weighted(&share, before);
            stage
                .par_chunks_mut(stride)
                .zip(self.rates.par_chunks(stride))
                .zip(&self.grid.groups)
                .enumerate()
                .with_min_len(4)
                .for_each(|(g, ((out, rates), group))| {
                    arch.dispatch(RightHand {
                        group,
                        past: &before,
                        from: g * stride,
                        rates,
                        out,
                    });
                });
            let system = System {
                arch,
                grid: &self.grid,
                rows: &self.rows,
                factors: &self.factors,
            };
            let solved = system.solve(
                &mut self.krylov,
                &self.weights,
                LINEAR_SHARE * tolerance,
                stage,
            );
            self.iterations += solved.iterations;
            if !solved.converged {
                return lost;
            }
            let rate = Totals {
                water: totals.water + past.water,
                heat: totals.heat + past.heat,
            };
            let closing = Closing {
                arch,
                m: &self.m,
                grid: &self.grid,
                rows: &self.rows,
                even,
            };
            self.stage_totals[i] = closing.close(stage, rate, scale);
        }
        let mut gained = Totals::default();
        for (m, total) in METHOD.m.iter().zip(&self.stage_totals) {
            gained.water += m * total.water;
            gained.heat += m * total.heat;
        }
        Tried {
            error: self.arrive() / tolerance,
            gained,
        }
    }

    /// Puts the new state into `next` and gives the volume-weighted error of the embedded method; infinite when a place is
    /// drier than dry.
    fn arrive(&mut self) -> f64 {
        let (arch, stride, stages) = (self.arch, 2 * self.grid.nodes, &self.stages);
        let parts: Vec<(f64, f64)> = self
            .next
            .par_chunks_mut(stride)
            .zip(self.y.par_chunks(stride))
            .zip(&self.grid.groups)
            .enumerate()
            .with_min_len(4)
            .map(|(g, ((next, y), group))| {
                arch.dispatch(Arrive {
                    group,
                    y,
                    stages: std::array::from_fn(|j| &stages[j][g * stride..][..stride]),
                    next,
                })
            })
            .collect();
        let all: f64 = parts.iter().map(|p| p.0).sum();
        let driest = parts.iter().fold(f64::INFINITY, |d, p| d.min(p.1));
        let error = (all / (2.0 * self.grid.volume)).sqrt();
        if driest < DRIEST || !error.is_finite() {
            f64::INFINITY
        } else {
            error
        }
    }
}

/// The stages that count, each with its factor.
fn weighted<'a>(factors: &[f64], stages: &'a [Vec<Lanes>]) -> Vec<(f64, &'a [Lanes])> {
    let pairs = factors
        .iter()
        .copied()
        .zip(stages.iter().map(Vec::as_slice));
    pairs.filter(|(factor, _)| *factor != 0.0).collect()
}

/// What a group holds of a stage after an even shift: sums of V·X and V·E, and what passes its surfaces per time.
struct Shift<'a> {
    group: &'a Group,
    rows: &'a Rows,
    by: [f64; 2],
    stage: &'a mut [Lanes],
}
impl NullaryFnOnce for Shift<'_> {
    type Output = [f64; 4];
    #[inline(always)]
    fn call(self) -> [f64; 4] {
        let mut held = [[0.0; LANES]; 2];
        for (v, pair) in self.group.volume.iter().zip(self.stage.chunks_exact_mut(2)) {
            for (part, (values, by)) in held.iter_mut().zip(pair.iter_mut().zip(self.by)) {
                for l in 0..LANES {
                    // Places without dough stay as they are.
                    values[l] += if v[l] > 0.0 { by } else { 0.0 };
                    part[l] += v[l] * values[l];
                }
            }
        }
        let [x, e] = held.map(|part| part.iter().sum());
        let (mut water, mut heat) = (0.0, 0.0);
        for (face, slope) in self.group.faces.iter().zip(&self.rows.totals) {
            let (k, l) = (face.place as usize / LANES, face.place as usize % LANES);
            let (x, e) = (self.stage[2 * k][l], self.stage[2 * k + 1][l]);
            water += slope[0] * x + slope[1] * e;
            heat += slope[2] * x + slope[3] * e;
        }
        [x, e, water, heat]
    }
}

/// A piece whose stages are closed.
struct Closing<'a> {
    arch: Arch,
    m: &'a Material,
    grid: &'a Grid,
    rows: &'a [Rows],
    even: [f64; 4],
}

impl Closing<'_> {
    /// Shifts a stage by an even amount so that what it holds is what passed the surfaces, and gives that.
    ///
    /// The iteration leaves a residual, which would be water and heat made from nothing. The shift that puts
    /// its sum to nought is a fraction of the tolerance of the iteration.
    fn close(&self, stage: &mut [Lanes], rate: Totals, scale: f64) -> Totals {
        let (v, heat_unit) = (self.grid.volume, self.m.rho_s * E_UNIT);
        let [a, b, c, d] = [
            v - scale * self.even[0],
            -scale * self.even[1],
            -scale * self.even[2],
            v - scale * self.even[3],
        ];
        let over = 1.0 / (a * d - b * c);
        let mut by = [0.0; 2];
        let mut gained = Totals::default();
        for _ in 0..3 {
            let [x, e, water, heat] = self.shifted(stage, by);
            gained = Totals {
                water: scale * (rate.water + water),
                heat: scale * (rate.heat + heat),
            };
            let gap = [
                -gained.water / self.m.rho_s - x,
                gained.heat / heat_unit - e,
            ];
            by = [
                over * (d * gap[0] - b * gap[1]),
                over * (a * gap[1] - c * gap[0]),
            ];
        }
        gained
    }

    /// Shifts every place, and tells the sums.
    fn shifted(&self, stage: &mut [Lanes], by: [f64; 2]) -> [f64; 4] {
        let parts: Vec<[f64; 4]> = stage
            .par_chunks_mut(2 * self.grid.nodes)
            .zip(&self.grid.groups)
            .zip(self.rows)
            .with_min_len(4)
            .map(|((stage, group), rows)| {
                self.arch.dispatch(Shift {
                    group,
                    rows,
                    by,
                    stage,
                })
            })
            .collect();
        parts.iter().fold([0.0; 4], |sum, part| {
            std::array::from_fn(|i| sum[i] + part[i])
        })
    }
}
