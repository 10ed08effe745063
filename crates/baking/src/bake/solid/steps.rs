//! Time stepping of the solid bake: Rodas3 with the same step control as through the thickness.

#![allow(
    clippy::needless_range_loop,
    reason = "loops over lanes by index are what vectorises"
)]

use super::balance::{Rows, Shares, rates};
use super::chessboard::{Add, Krylov, System};
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
const LINEAR_SHARE: f64 = 0.05;
/// A step that ends drier than this is refused.
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
    argument: Vec<Lanes>,
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

struct Look<'a> {
    m: &'a Material,
    y: &'a [Lanes],
    state: &'a mut State,
    fields: &'a mut Fields,
    slopes: bool,
    credited_s: Option<f64>,
}
impl NullaryFnOnce for Look<'_> {
    type Output = ();
    #[inline(always)]
    fn call(self) {
        for (nodes, pair) in self
            .state
            .chunks_exact_mut(LANES)
            .zip(self.y.chunks_exact(2))
        {
            for l in 0..LANES {
                nodes[l] = [pair[0][l], pair[1][l]];
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
            argument: zero.clone(),
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
            &self.y,
            (&mut self.states, &mut self.fields),
            true,
            credited_s,
        );
    }

    fn look_at(
        arch: Arch,
        m: &Material,
        y: &[Lanes],
        (states, fields): (&mut [State], &mut [Fields]),
        slopes: bool,
        credited_s: Option<f64>,
    ) {
        let stride = y.len() / fields.len();
        fields
            .par_iter_mut()
            .zip(states)
            .zip(y.par_chunks(stride))
            .with_min_len(2)
            .for_each(|((fields, state), y)| {
                arch.dispatch(Look {
                    m,
                    y,
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
        for (g, group) in self.grid.groups.iter().enumerate() {
            for k in 0..nodes {
                let i = (g * nodes + k) * 2;
                for l in 0..LANES {
                    let share = group.volume[k][l] * per_volume;
                    let x = 1.0 / (self.y[i][l].abs() + 0.05);
                    let e = 1.0 / (self.y[i + 1][l].abs() + 0.5);
                    self.weights[i][l] = 0.5 * share * x * x;
                    self.weights[i + 1][l] = 0.5 * share * e * e;
                }
            }
        }
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

    /// What a change adds to water out and heat in, per time.
    fn through_surfaces(grid: &Grid, rows: &[Rows], u: &[Lanes]) -> Totals {
        let mut totals = Totals::default();
        let groups = grid.groups.iter().zip(rows);
        for ((group, rows), u) in groups.zip(u.chunks_exact(2 * grid.nodes)) {
            for (face, slope) in group.faces.iter().zip(&rows.totals) {
                let (k, l) = (face.place as usize / LANES, face.place as usize % LANES);
                let (x, e) = (u[2 * k][l], u[2 * k + 1][l]);
                totals.water += slope[0] * x + slope[1] * e;
                totals.heat += slope[2] * x + slope[3] * e;
            }
        }
        totals
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
                self.argument.copy_from_slice(&self.y);
                for j in 0..i {
                    if METHOD.a[i][j] != 0.0 {
                        arch.dispatch(Add(&mut self.argument, METHOD.a[i][j], &self.stages[j]));
                    }
                }
                Self::look_at(
                    arch,
                    &self.m,
                    &self.argument,
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
            // Right-hand side: V·(sum of what came before) + rates.
            stage.fill([0.0; LANES]);
            let mut past = Totals::default();
            for (j, u) in before.iter().enumerate() {
                let c = METHOD.c[i][j] / h;
                if c != 0.0 {
                    arch.dispatch(Add(stage, c, u));
                    past.water += c * self.stage_totals[j].water;
                    past.heat += c * self.stage_totals[j].heat;
                }
            }
            let nodes = self.grid.nodes;
            for (g, group) in self.grid.groups.iter().enumerate() {
                for k in 0..nodes {
                    let at = (g * nodes + k) * 2;
                    for l in 0..LANES {
                        let v = group.volume[k][l];
                        stage[at][l] = v * stage[at][l] + self.rates[at][l];
                        stage[at + 1][l] = v * stage[at + 1][l] + self.rates[at + 1][l];
                    }
                }
            }
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
            self.stage_totals[i] = close(&self.grid, &self.rows, &self.m, stage, rate, scale, even);
        }
        self.next.copy_from_slice(&self.y);
        let mut gained = Totals::default();
        for j in 0..STAGES {
            arch.dispatch(Add(&mut self.next, METHOD.m[j], &self.stages[j]));
            gained.water += METHOD.m[j] * self.stage_totals[j].water;
            gained.heat += METHOD.m[j] * self.stage_totals[j].heat;
        }
        Tried {
            error: self.error() / tolerance,
            gained,
        }
    }

    /// Volume-weighted error of the embedded method; infinite when a place is drier than dry.
    fn error(&self) -> f64 {
        let nodes = self.grid.nodes;
        let error = &self.stages[STAGES - 1];
        let mut all = 0.0;
        let mut driest = f64::INFINITY;
        for (g, group) in self.grid.groups.iter().enumerate() {
            let mut part = [0.0; LANES];
            for k in 0..nodes {
                let i = (g * nodes + k) * 2;
                for l in 0..LANES {
                    let x = self.y[i][l].abs().max(self.next[i][l].abs());
                    let e = self.y[i + 1][l].abs().max(self.next[i + 1][l].abs());
                    let a = error[i][l] / (x + 0.05);
                    let b = error[i + 1][l] / (e + 0.5);
                    part[l] += group.volume[k][l] * (a * a + b * b);
                    driest = driest.min(self.next[i][l]);
                }
            }
            all += part.iter().sum::<f64>();
        }
        let error = (all / (2.0 * self.grid.volume)).sqrt();
        if driest < DRIEST || !error.is_finite() {
            f64::INFINITY
        } else {
            error
        }
    }
}

/// Shifts a stage by an even amount so that what it holds is what passed the surfaces, and gives that.
///
/// The iteration leaves a residual, which would be water and heat made from nothing. The shift that puts
/// its sum to nought is a fraction of the tolerance of the iteration.
fn close(
    grid: &Grid,
    rows: &[Rows],
    m: &Material,
    stage: &mut [Lanes],
    rate: Totals,
    scale: f64,
    even: [f64; 4],
) -> Totals {
    let gain = |u: &[Lanes]| {
        let more = Work::through_surfaces(grid, rows, u);
        Totals {
            water: scale * (rate.water + more.water),
            heat: scale * (rate.heat + more.heat),
        }
    };
    let heat_unit = m.rho_s * E_UNIT;
    for _ in 0..2 {
        let gained = gain(stage);
        let held = Work::held(grid, stage);
        let gap = [
            -gained.water / m.rho_s - held[0],
            gained.heat / heat_unit - held[1],
        ];
        let v = grid.volume;
        let [a, b, c, d] = [
            v - scale * even[0],
            -scale * even[1],
            -scale * even[2],
            v - scale * even[3],
        ];
        let over = 1.0 / (a * d - b * c);
        let shift = [
            over * (d * gap[0] - b * gap[1]),
            over * (a * gap[1] - c * gap[0]),
        ];
        for (group, u) in grid
            .groups
            .iter()
            .zip(stage.chunks_exact_mut(2 * grid.nodes))
        {
            for (v, pair) in group.volume.iter().zip(u.chunks_exact_mut(2)) {
                for l in 0..LANES {
                    if v[l] > 0.0 {
                        pair[0][l] += shift[0];
                        pair[1][l] += shift[1];
                    }
                }
            }
        }
    }
    gain(stage)
}
