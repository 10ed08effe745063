//! The right-hand side of the balances and its exact derivative, laid out so that it vectorises.
//!
//! The file is long because a flux and its derivative have to be read side by side.
//!
//! State of a node: X \[kg/kg dry solid\] and E = e/10⁵ with e \[J/kg dry solid\]. Temperature is explicit,
//! θ = e/(c_s + c_w X). Nodes lie at both surfaces and evenly between; the outer two own half a cell.
//! Fluxes are positive upward and live on faces; face i lies below node i, face 0 and face n are the surfaces.
//! Property derivatives are total ones with respect to X and E.

#![allow(
    clippy::needless_range_loop,
    clippy::manual_range_contains,
    reason = "loops over lanes by index and comparisons without branches are what vectorises"
)]

use super::input::{BakeInput, Stage, StageKind};
use super::isotherm::{Curve, LEAST_MOISTURE, ROOM_CELSIUS};
use super::kill::{self, TESTED_CELSIUS, TESTED_WATER_ACTIVITY};
use super::surface::{
    GAS_CONSTANT, PRESSURE_PA, STEFAN_BOLTZMANN, WATER_MOLAR_MASS, mass_transfer_per_film_kelvin,
};
use crate::numerics::block_tridiagonal::{Block, Matrix};
use crate::numerics::elementary::{exp, ln};
use crate::numerics::lanes::{Field, LANES, Lanes, padded};

/// Added to a sum of conductances, so that a piece without any gives nought and not nonsense.
const LEAST_SUM: f64 = 1e-40;
/// One unit of E in J/kg dry solid.
pub(crate) const E_UNIT: f64 = 1e5;
const ZERO_C: f64 = 273.15;
/// ln 273.15.
const LN_ZERO_C: f64 = 5.610_021_094_841_726;
const MW_OVER_R: f64 = WATER_MOLAR_MASS / GAS_CONSTANT;
/// Temperature is not taken below this inside the property laws \[K\].
const LEAST_K: f64 = 150.0;

/// A state: X and E of every node, padded with copies of the last one.
pub(crate) type State = Vec<[f64; 2]>;

/// The fall of the liquid diffusivity at the dry end.
#[derive(Clone, Copy, Debug)]
struct DryRate {
    power: f64,
    ln_moisture: f64,
}

/// What a node's properties are computed with.
#[derive(Clone, Debug)]
pub(crate) struct Material {
    c_s: f64,
    pub(crate) c_w: f64,
    k: [[f64; 2]; 3],
    k_floor: f64,
    sat: [f64; 6],
    pub(crate) latent: [f64; 3],
    g: f64,
    curve: Curve,
    d0: f64,
    activation_over_r: f64,
    over_reference: f64,
    moisture_exponent: f64,
    dry_end: Option<DryRate>,
    free_air: f64,
    permeability: f64,
    knudsen: f64,
    smoothing_squared: f64,
    pub(crate) emissivity: f64,
    /// Whether the dough has neither sugar, polyols nor much salt: for the kill of its wet phase.
    pub(crate) plain_dough: bool,
    pub(crate) rho_s: f64,
    pub(crate) dx: f64,
    pub(crate) nodes: usize,
}

impl Material {
    pub(crate) fn new(input: &BakeInput) -> Self {
        let c = &input.closures;
        let s = &c.saturation;
        Self {
            c_s: c.solid_heat_capacity_j_per_kg_k,
            c_w: c.water_heat_capacity_j_per_kg_k,
            k: c.conductivity.a,
            k_floor: c.conductivity.floor_w_per_m_k,
            sat: [
                s.over_t,
                s.powers[0],
                s.powers[1],
                s.powers[2],
                s.powers[3],
                s.of_ln_t,
            ],
            latent: c.latent_heat.l,
            g: c.isotherm.per_kelvin,
            curve: c.isotherm.curve.clone(),
            d0: c.liquid.d0_m2_per_s,
            activation_over_r: c.liquid.activation_j_per_mol / GAS_CONSTANT,
            over_reference: 1.0 / c.liquid.reference_k,
            moisture_exponent: c.liquid.moisture_exponent,
            dry_end: c.liquid.dry_end.map(|dry| DryRate {
                power: dry.power,
                ln_moisture: dry.moisture.ln(),
            }),
            // Free-air diffusivity 2.26e-5 m²/s at 0 °C, growing with T^1.81 (Massman 1998 form).
            free_air: c.vapour.porosity_over_tortuosity * 2.26e-5,
            permeability: c.vapour.permeability_m2,
            knudsen: c.vapour.knudsen_m2_per_s,
            smoothing_squared: c.vapour.smoothing * c.vapour.smoothing,
            emissivity: c.emissivity,
            plain_dough: c.plain_dough,
            rho_s: input.dry_solid_kg_per_m3,
            dx: input.thickness_m / input.cells as f64,
            nodes: input.cells + 1,
        }
    }

    pub(crate) fn celsius(&self, y: [f64; 2]) -> f64 {
        E_UNIT * y[1] / (self.c_s + self.c_w * y[0])
    }

    /// Volume per plan area of a node \[m\].
    #[inline(always)]
    pub(crate) fn share(&self, node: usize) -> f64 {
        if node == 0 || node + 1 == self.nodes {
            0.5 * self.dx
        } else {
            self.dx
        }
    }

    pub(crate) fn enthalpy(&self, moisture: f64, celsius: f64) -> f64 {
        (self.c_s + self.c_w * moisture) * celsius / E_UNIT
    }

    #[inline(always)]
    fn latent(&self, celsius: f64) -> (f64, f64) {
        let [l0, l1, l2] = self.latent;
        (
            celsius.mul_add(celsius.mul_add(l2, l1), l0),
            (2.0 * l2).mul_add(celsius, l1),
        )
    }
}

/// What surrounds the piece during a stage.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Surroundings {
    pub(crate) air_k: f64,
    radiating_k: f64,
    pub(crate) band_k: f64,
    air_vapour_over_t: f64,
    pub(crate) top: f64,
    pub(crate) bottom: f64,
    /// k_m M_w/R per film kelvin at the top, bottom and rim.
    pub(crate) vapour_top: f64,
    pub(crate) vapour_bottom: f64,
    /// The outer rim, and the walls of docker holes.
    rims: [Option<Rim>; 2],
}

#[derive(Clone, Copy, Debug)]
struct Rim {
    per_volume: f64,
    exposure: f64,
    path: f64,
}

impl Surroundings {
    pub(crate) fn new(input: &BakeInput, stage: &Stage) -> Self {
        let vapour =
            mass_transfer_per_film_kelvin(stage.top_w_per_m2_k) * MW_OVER_R * stage.vapour_exchange;
        let edge = input.edge.filter(|_| stage.kind != StageKind::Pack);
        let rim = |per_volume: f64, exposure: f64, path: f64| {
            (exposure * per_volume > 0.0).then_some(Rim {
                per_volume,
                exposure,
                path,
            })
        };
        let outer = edge.and_then(|e| rim(e.perimeter_per_area_per_m, e.exposure, e.path_m));
        let holes = edge
            .and_then(|e| e.holes)
            .and_then(|h| rim(h.wall_per_area_per_m, h.exposure, h.path_m));
        Self {
            air_k: stage.air_k,
            radiating_k: stage.radiating_k,
            band_k: stage.band_k,
            air_vapour_over_t: stage.air_vapour_pa / stage.air_k,
            top: stage.top_w_per_m2_k,
            bottom: stage.bottom_w_per_m2_k,
            vapour_top: vapour,
            vapour_bottom: vapour * stage.band_open,
            rims: [outer, holes],
        }
    }
}

/// A property with its derivatives by X and by E.
#[derive(Clone, Debug, Default)]
pub(crate) struct Property {
    pub(crate) v: Field,
    pub(crate) x: Field,
    pub(crate) e: Field,
}

impl Property {
    fn resize(&mut self, n: usize) {
        self.v.resize(n);
        self.x.resize(n);
        self.e.resize(n);
    }
}

/// Node properties, face fluxes and their derivatives.
#[derive(Clone, Debug, Default)]
pub(crate) struct Fields {
    pub(crate) x: Field,
    ln_x: Field,
    s: Field,
    s_slope: Field,
    pub(crate) theta: Property,
    pub(crate) p: Property,
    pub(crate) d: Property,
    pub(crate) kv: Property,
    pub(crate) k: Property,
    /// Water and heat flux at each face.
    j: Vec<f64>,
    q: Vec<f64>,
    /// Lateral water and heat leaving per volume, and derivatives.
    rim: Vec<[f64; 2]>,
    rim_slope: Vec<Block>,
    /// Kill: ln rate, rate, sum, and the part of the sum outside the tested range; then the same with the
    /// equation carried on above the tested temperatures.
    kill_ln: Field,
    kill_rate: Field,
    pub(crate) kill_sum: Field,
    pub(crate) kill_outside: Field,
    hot_ln: Field,
    hot_rate: Field,
    pub(crate) hot_sum: Field,
    /// And with the wet phase credited.
    wet_ln: Field,
    wet_rate: Field,
    pub(crate) wet_sum: Field,
}

/// Rates of the two running totals: water out \[kg/(m² s)\] and heat in \[W/m²\].
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Totals {
    pub water: f64, // no unit in the name: kg/m²
    pub heat: f64,  // no unit in the name: J/m²
}

impl Fields {
    pub(crate) fn resize(&mut self, n: usize) {
        for f in [
            &mut self.x,
            &mut self.ln_x,
            &mut self.s,
            &mut self.s_slope,
            &mut self.kill_ln,
            &mut self.kill_rate,
            &mut self.kill_sum,
            &mut self.kill_outside,
            &mut self.hot_ln,
            &mut self.hot_rate,
            &mut self.hot_sum,
            &mut self.wet_ln,
            &mut self.wet_rate,
            &mut self.wet_sum,
        ] {
            f.resize(n);
        }
        for p in [
            &mut self.theta,
            &mut self.p,
            &mut self.d,
            &mut self.kv,
            &mut self.k,
        ] {
            p.resize(n);
        }
        let m = padded(n) + 1;
        for v in [&mut self.j, &mut self.q] {
            v.clear();
            v.resize(m, 0.0);
        }
        self.rim_slope.clear();
        self.rim_slope.resize(m, [0.0; 4]);
        self.rim.clear();
        self.rim.resize(m, [0.0; 2]);
    }

    /// Temperature of a node \[°C\], after [`properties`].
    pub(crate) fn celsius(&self, node: usize) -> f64 {
        self.theta.v.0[node]
    }

    /// Least log reduction over the nodes, and the share of it earned outside the tested range.
    pub(crate) fn least_kill(&self, n: usize) -> (f64, f64) {
        let sums = self.kill_sum.0[..n].iter().zip(&self.kill_outside.0);
        let least = sums.min_by(|a, b| a.0.total_cmp(b.0));
        least.map_or((0.0, 0.0), |(s, o)| (*s, *o))
    }

    /// Least log reduction over the nodes with the equation carried on above the tested temperatures.
    pub(crate) fn least_kill_carried_on(&self, n: usize) -> f64 {
        self.hot_sum.0[..n]
            .iter()
            .fold(f64::INFINITY, |a, b| a.min(*b))
    }

    /// Least log reduction over the nodes with the wet phase credited.
    pub(crate) fn least_kill_with_wet_phase(&self, n: usize) -> f64 {
        self.wet_sum.0[..n]
            .iter()
            .fold(f64::INFINITY, |a, b| a.min(*b))
    }
}

/// Nodes that are treated side by side: all but a single one left over, for which lanes of its own would be a waste.
fn filling(nodes: usize) -> usize {
    if nodes % LANES == 1 { nodes - 1 } else { nodes }
}

/// Properties of every node of a state.
#[inline(always)]
pub(crate) fn properties<const SLOPES: bool>(m: &Material, y: &State, f: &mut Fields) {
    let n = m.nodes;
    let abreast = filling(n);
    for i in (0..abreast).step_by(LANES) {
        contents::<LANES>(m, y, f, i);
    }
    if abreast < n {
        contents::<1>(m, y, f, abreast);
    }
    if let curve @ Curve::Table { .. } = &m.curve {
        for i in 0..n {
            let (s, slope) = curve.at(f.ln_x.0[i]);
            f.s.0[i] = s;
            f.s_slope.0[i] = slope;
        }
        for i in n..abreast.next_multiple_of(LANES) {
            f.s.0[i] = f.s.0[n - 1];
            f.s_slope.0[i] = f.s_slope.0[n - 1];
        }
    }
    for i in (0..abreast).step_by(LANES) {
        laws::<SLOPES, LANES>(m, f, i);
    }
    if abreast < n {
        laws::<SLOPES, 1>(m, f, abreast);
    }
}

/// Moisture and temperature of the nodes from `i` on, and the isotherm where it is a line.
#[inline(always)]
fn contents<const W: usize>(m: &Material, y: &State, f: &mut Fields, i: usize) {
    let (mut x, mut theta, mut ln_x) = ([0.0; W], [0.0; W], [0.0; W]);
    let y = &y[i..i + W];
    for l in 0..W {
        x[l] = y[l][0];
        theta[l] = E_UNIT * y[l][1] / x[l].mul_add(m.c_w, m.c_s);
        ln_x[l] = ln(x[l].max(LEAST_MOISTURE));
    }
    f.x.store(i, x);
    f.theta.v.store(i, theta);
    f.ln_x.store(i, ln_x);
    if let Curve::Line { intercept, slope } = m.curve {
        let mut s = [0.0; W];
        for l in 0..W {
            s[l] = slope.mul_add(ln_x[l], intercept);
        }
        f.s.store(i, s);
        f.s_slope.store(i, [slope; W]);
    }
}

/// The property laws at the nodes from `i` on.
#[inline(always)]
fn laws<const SLOPES: bool, const W: usize>(m: &Material, f: &mut Fields, i: usize) {
    let (x, theta) = (f.x.some::<W>(i), f.theta.v.some::<W>(i));
    let (s, s_slope) = (f.s.some::<W>(i), f.s_slope.some::<W>(i));
    let z = [0.0; W];
    let (mut p, mut px, mut pe) = (z, z, z);
    let (mut d, mut dx, mut de) = (z, z, z);
    let (mut kv, mut kvx, mut kve) = (z, z, z);
    let (mut k, mut kx, mut ke) = (z, z, z);
    let (mut tx, mut te) = (z, z);
    // The share of the wet diffusivity that is left, and what its logarithm gains per ln X times that share.
    let (mut left, mut left_x) = ([1.0; W], z);
    if let Some(dry) = m.dry_end {
        let ln_x = f.ln_x.some::<W>(i);
        for l in 0..W {
            let held = exp(dry.power * (ln_x[l] - dry.ln_moisture));
            let gone = exp(-held);
            left[l] = 1.0 - gone;
            left_x[l] = dry.power * held * gone;
        }
    }
    for l in 0..W {
        let t = (theta[l] + ZERO_C).max(LEAST_K);
        let over_t = 1.0 / t;
        let ln_t = ln(t);
        let logit = m.g.mul_add(theta[l] - ROOM_CELSIUS, s[l]);
        let a_w = 1.0 / (1.0 + exp(-logit));
        let [c_1, c0, c1, c2, c3, cl] = m.sat;
        let ln_sat = cl.mul_add(
            ln_t,
            c_1.mul_add(over_t, t.mul_add(t.mul_add(t.mul_add(c3, c2), c1), c0)),
        );
        let pv = a_w * exp(ln_sat);
        let free = m.free_air * exp(1.81 * (ln_t - LN_ZERO_C));
        let wet = m.d0
            * exp(m
                .moisture_exponent
                .mul_add(x[l], m.activation_over_r * (m.over_reference - over_t)));
        let dl = wet * left[l];
        let gap = 1.0 - pv / PRESSURE_PA;
        let root = gap.mul_add(gap, m.smoothing_squared).sqrt();
        let air = 0.5 * (gap + root);
        // μ_v = 1.23e-5·T/373.15 Pa s
        let flow = m.permeability * PRESSURE_PA * (373.15 / 1.23e-5) * over_t;
        let by_pressure = (1.0 - gap + air).mul_add(flow, m.knudsen);
        let over_sum = 1.0 / (air.mul_add(by_pressure, free) + LEAST_SUM);
        let d_e = free * by_pressure * over_sum;
        let mass = MW_OVER_R * over_t;
        let rows = [0, 1, 2].map(|r| theta[l].mul_add(m.k[r][1], m.k[r][0]));
        let k_free = x[l].mul_add(x[l].mul_add(rows[2], rows[1]), rows[0]);
        p[l] = pv;
        d[l] = dl;
        kv[l] = d_e * mass;
        k[l] = k_free.max(m.k_floor);
        if SLOPES {
            let over_c = 1.0 / x[l].mul_add(m.c_w, m.c_s);
            let theta_x = -m.c_w * theta[l] * over_c;
            let theta_e = E_UNIT * over_c;
            let dry = 1.0 - a_w;
            let over_x = if x[l] > LEAST_MOISTURE {
                1.0 / x[l]
            } else {
                0.0
            };
            let ln_sat_t = t.mul_add(
                t.mul_add(3.0 * c3, 2.0 * c2),
                over_t.mul_add(cl - c_1 * over_t, c1),
            );
            let p_x = pv * dry * s_slope[l] * over_x;
            let p_t = pv * dry.mul_add(m.g, ln_sat_t);
            let dl_x = m.moisture_exponent.mul_add(dl, wet * left_x[l] * over_x);
            let dl_t = dl * m.activation_over_r * over_t * over_t;
            let air_gap = air / root;
            let flow_gap = flow * (air_gap - 1.0);
            let square = over_sum * over_sum;
            let by_flow = free * free * square;
            let by_free = air * by_pressure * by_pressure * square;
            let by_air = -free * by_pressure * by_pressure * square;
            let d_gap = by_flow.mul_add(flow_gap, by_air * air_gap);
            let d_t = by_free.mul_add(
                1.81 * free * over_t,
                by_flow * (m.knudsen - by_pressure) * over_t,
            );
            let kv_p = -mass * d_gap / PRESSURE_PA;
            let kv_t = mass * (d_t - d_e * over_t);
            let alive = if k_free > m.k_floor { 1.0 } else { 0.0 };
            let k_x = alive * (2.0 * x[l]).mul_add(rows[2], rows[1]);
            let k_t = alive * x[l].mul_add(x[l].mul_add(m.k[2][1], m.k[1][1]), m.k[0][1]);
            tx[l] = theta_x;
            te[l] = theta_e;
            px[l] = p_t.mul_add(theta_x, p_x);
            pe[l] = p_t * theta_e;
            dx[l] = dl_t.mul_add(theta_x, dl_x);
            de[l] = dl_t * theta_e;
            kvx[l] = kv_p.mul_add(px[l], kv_t * theta_x);
            kve[l] = kv_p.mul_add(pe[l], kv_t * theta_e);
            kx[l] = k_t.mul_add(theta_x, k_x);
            ke[l] = k_t * theta_e;
        }
    }
    f.p.v.store(i, p);
    f.d.v.store(i, d);
    f.kv.v.store(i, kv);
    f.k.v.store(i, k);
    if SLOPES {
        f.theta.x.store(i, tx);
        f.theta.e.store(i, te);
        f.p.x.store(i, px);
        f.p.e.store(i, pe);
        f.d.x.store(i, dx);
        f.d.e.store(i, de);
        f.kv.x.store(i, kvx);
        f.kv.e.store(i, kve);
        f.k.x.store(i, kx);
        f.k.e.store(i, ke);
    }
}

/// Fluxes at the inner faces, and with `minus` what they put beside the diagonal of it.
#[inline(always)]
fn inner_faces(m: &Material, f: &mut Fields, mut minus: Option<&mut Matrix>) {
    let faces = m.nodes - 1;
    let over_dx = 1.0 / m.dx;
    let [l0, l1, l2] = m.latent;
    for i in (0..faces).step_by(LANES) {
        let a = i;
        let b = i + 1;
        let (xa, xb) = (f.x.load(a), f.x.load(b));
        let (ta, tb) = (f.theta.v.load(a), f.theta.v.load(b));
        let (pa, pb) = (f.p.v.load(a), f.p.v.load(b));
        let (da, db) = (f.d.v.load(a), f.d.v.load(b));
        let (va, vb) = (f.kv.v.load(a), f.kv.v.load(b));
        let (ka, kb) = (f.k.v.load(a), f.k.v.load(b));
        let z = [0.0; LANES];
        let (mut j, mut q) = (z, z);
        let mut faces = Faces::default();
        for l in 0..LANES {
            let theta = 0.5 * (ta[l] + tb[l]);
            let grad_p = (pb[l] - pa[l]) * over_dx;
            let v = 0.5 * (va[l] + vb[l]);
            let vapour = -v * grad_p;
            let liquid = m.rho_s * 0.5 * (da[l] + db[l]);
            let grad_x = (xb[l] - xa[l]) * over_dx;
            let water = (-liquid).mul_add(grad_x, vapour);
            let latent = theta.mul_add(theta.mul_add(l2, l1), l0);
            let carried = m.c_w * theta;
            let grad_t = (tb[l] - ta[l]) * over_dx;
            let k = 0.5 * (ka[l] + kb[l]);
            j[l] = water;
            q[l] = (-k).mul_add(grad_t, carried.mul_add(water, latent * vapour));
            let latent_t = (2.0 * l2).mul_add(theta, l1);
            faces.half_grad_p[l] = 0.5 * grad_p;
            faces.half_grad_x[l] = 0.5 * m.rho_s * grad_x;
            faces.half_grad_t[l] = 0.5 * grad_t;
            faces.vapour[l] = v * over_dx;
            faces.liquid[l] = liquid * over_dx;
            faces.heat[l] = k * over_dx;
            faces.carried[l] = carried;
            faces.latent[l] = latent;
            faces.q_theta[l] = 0.5 * m.c_w.mul_add(water, latent_t * vapour);
        }
        f.j[b..b + LANES].copy_from_slice(&j);
        f.q[b..b + LANES].copy_from_slice(&q);
        if let Some(minus) = minus.as_deref_mut() {
            minus.lower.store(b, slopes::<true>(m, &faces, f, a));
            minus.upper.store(a, slopes::<false>(m, &faces, f, b));
        }
    }
}

/// What the derivatives of the fluxes at a face are made of.
#[derive(Clone, Copy, Default)]
struct Faces {
    /// Half the gradient of p, of X times ρ_s, and of θ.
    half_grad_p: Lanes,
    half_grad_x: Lanes,
    half_grad_t: Lanes,
    /// Means of K_v, of D times ρ_s, and of k, over the cell.
    vapour: Lanes,
    liquid: Lanes,
    heat: Lanes,
    /// Enthalpy of liquid water, heat of evaporation, and half the change of q with θ of the face.
    carried: Lanes,
    latent: Lanes,
    q_theta: Lanes,
}

/// What a whole cell gains \[1/s\] per unit of the two fluxes.
#[inline(always)]
fn per_flux(m: &Material) -> [f64; 2] {
    let water = 1.0 / (m.rho_s * m.dx);
    [water, water / E_UNIT]
}

/// What the faces put into the rows above them with the nodes below, or into those below with the nodes above;
/// `node` is the first of these nodes.
#[inline(always)]
fn slopes<const BELOW: bool>(m: &Material, c: &Faces, f: &Fields, node: usize) -> [Lanes; 4] {
    let sign = if BELOW { 1.0 } else { -1.0 };
    let [per_j, per_q] = per_flux(m).map(|v| -sign * v);
    let (dx, vx, px) = (f.d.x.load(node), f.kv.x.load(node), f.p.x.load(node));
    let (kx, tx) = (f.k.x.load(node), f.theta.x.load(node));
    let (de, ve, pe) = (f.d.e.load(node), f.kv.e.load(node), f.p.e.load(node));
    let (ke, te) = (f.k.e.load(node), f.theta.e.load(node));
    let mut out = [[0.0; LANES]; 4];
    for l in 0..LANES {
        let by_theta = sign.mul_add(c.heat[l], c.q_theta[l]);
        let vapour = (-c.half_grad_p[l]).mul_add(vx[l], sign * c.vapour[l] * px[l]);
        let water = (-c.half_grad_x[l]).mul_add(dx[l], sign.mul_add(c.liquid[l], vapour));
        let heat = (-c.half_grad_t[l]).mul_add(kx[l], tx[l] * by_theta);
        out[0][l] = per_j * water;
        out[2][l] = per_q * c.carried[l].mul_add(water, c.latent[l].mul_add(vapour, heat));
        let vapour = (-c.half_grad_p[l]).mul_add(ve[l], sign * c.vapour[l] * pe[l]);
        let water = (-c.half_grad_x[l]).mul_add(de[l], vapour);
        let heat = (-c.half_grad_t[l]).mul_add(ke[l], te[l] * by_theta);
        out[1][l] = per_j * water;
        out[3][l] = per_q * c.carried[l].mul_add(water, c.latent[l].mul_add(vapour, heat));
    }
    out
}

/// A surface law: water leaving, heat entering (with what the water carries off), and their
/// derivatives by X and E of the surface node.
#[inline(always)]
#[expect(
    clippy::too_many_arguments,
    reason = "the terms of one law, told apart by name at both calls"
)]
pub(crate) fn surface(
    m: &Material,
    f: &Fields,
    node: usize,
    s: &Surroundings,
    vapour: f64,
    h: f64,
    gas_k: f64,
    emissivity: f64,
) -> ([f64; 2], Block) {
    let (theta, p) = (f.theta.v.0[node], f.p.v.0[node]);
    let t = theta + ZERO_C;
    let (tx, te) = (f.theta.x.0[node], f.theta.e.0[node]);
    let over_t = 1.0 / t;
    let drive = p * over_t - s.air_vapour_over_t;
    let film = 0.5 * (s.air_k + t);
    let water = vapour * film * drive;
    let water_p = vapour * film * over_t;
    let water_t = vapour * (0.5 * drive - film * p * over_t * over_t);
    let (latent, latent_t) = m.latent(theta);
    let carried = m.c_w * theta + latent;
    let radiation = emissivity * STEFAN_BOLTZMANN;
    let dry = h * (gas_k - t) + radiation * (s.radiating_k.powi(4) - t.powi(4));
    let dry_t = -h - 4.0 * radiation * t * t * t;
    let wx = water_p * f.p.x.0[node] + water_t * tx;
    let we = water_p * f.p.e.0[node] + water_t * te;
    let heat_t = dry_t - water * (m.c_w + latent_t);
    (
        [water, dry - carried * water],
        [
            wx,
            we,
            heat_t * tx - carried * wx,
            heat_t * te - carried * we,
        ],
    )
}

/// Adds what leaves through a rim per volume, node by node.
#[inline(always)]
fn rim_losses<const SLOPES: bool>(m: &Material, s: &Surroundings, rim: Rim, f: &mut Fields) {
    let radiation = m.emissivity * STEFAN_BOLTZMANN * rim.exposure;
    let (top, vapour) = (s.top * rim.exposure, s.vapour_top * rim.exposure);
    let r = s.radiating_k;
    let dry_far = top * s.air_k + radiation * r.powi(4);
    for i in 0..m.nodes {
        let (theta, p, k, kv) = (f.theta.v.0[i], f.p.v.0[i], f.k.v.0[i], f.kv.v.0[i]);
        let t = theta + ZERO_C;
        let over_t = 1.0 / t;
        let h = top + radiation * (r * r + t * t) * (r + t);
        let over = 1.0 / (k + h * rim.path);
        let dry_gas = dry_far - top * t - radiation * t * t * t * t;
        let dry = dry_gas * k * over;
        let film = 0.5 * (s.air_k + t);
        let drive = p * over_t - s.air_vapour_over_t;
        let open = vapour * film * over_t;
        let over_v = 1.0 / (kv + rim.path * open + LEAST_SUM);
        let water = vapour * film * drive * kv * over_v;
        let (latent, latent_t) = m.latent(theta);
        let carried = m.c_w * theta + latent;
        f.rim[i][0] += rim.per_volume * water;
        f.rim[i][1] += rim.per_volume * (carried * water - dry);
        if SLOPES {
            let h_t = radiation * (r * r + 2.0 * r * t + 3.0 * t * t);
            let dry_gas_t = -top - 4.0 * radiation * t * t * t;
            let dry_t = (dry_gas_t * k - dry * rim.path * h_t) * over;
            let dry_k = (dry_gas - dry) * over;
            let open_t = vapour * over_t * (0.5 - film * over_t);
            let gas = vapour * film * drive;
            let gas_t = vapour * (0.5 * drive - film * p * over_t * over_t);
            let water_t = (gas_t * kv - water * rim.path * open_t) * over_v;
            let water_p = open * kv * over_v;
            let water_kv = (gas - water) * over_v;
            let of = |tt: f64, pp: f64, kk: f64, vv: f64| {
                let w = water_t * tt + water_p * pp + water_kv * vv;
                let d = dry_t * tt + dry_k * kk;
                let q = carried * w + water * (m.c_w + latent_t) * tt - d;
                (rim.per_volume * w, rim.per_volume * q)
            };
            let (wx, qx) = of(f.theta.x.0[i], f.p.x.0[i], f.k.x.0[i], f.kv.x.0[i]);
            let (we, qe) = of(f.theta.e.0[i], f.p.e.0[i], f.k.e.0[i], f.kv.e.0[i]);
            for (sum, part) in f.rim_slope[i].iter_mut().zip([wx, we, qx, qe]) {
                *sum += part;
            }
        }
    }
}

/// Right-hand side from node properties.
#[inline(always)]
pub(crate) fn rates(m: &Material, s: &Surroundings, f: &mut Fields, out: &mut State) -> Totals {
    balance(m, s, f, out, None)
}

/// Right-hand side, minus the Jacobian and the derivatives of the two totals, from node properties with slopes.
#[inline(always)]
pub(crate) fn rates_and_jacobian(
    m: &Material,
    s: &Surroundings,
    f: &mut Fields,
    out: &mut State,
    minus: &mut Matrix,
    totals: &mut [Block],
) -> Totals {
    balance(m, s, f, out, Some((minus, totals)))
}

#[inline(always)]
fn balance(
    m: &Material,
    s: &Surroundings,
    f: &mut Fields,
    out: &mut State,
    mut slopes: Option<(&mut Matrix, &mut [Block])>,
) -> Totals {
    let n = m.nodes;
    inner_faces(m, f, slopes.as_mut().map(|(minus, _)| &mut **minus));
    let (top, top_slope) = surface(m, f, n - 1, s, s.vapour_top, s.top, s.air_k, m.emissivity);
    let (bottom, bottom_slope) = surface(m, f, 0, s, s.vapour_bottom, s.bottom, s.band_k, 0.0);
    f.j[0] = -bottom[0];
    f.q[0] = bottom[1];
    f.j[n] = top[0];
    f.q[n] = -top[1];
    let mut totals = Totals {
        water: top[0] + bottom[0],
        heat: top[1] + bottom[1],
    };
    let [per_j, per_q] = per_flux(m);
    {
        let (j, q, out) = (&f.j[..=n], &f.q[..=n], &mut out[..n]);
        for i in 0..n {
            out[i] = [(j[i] - j[i + 1]) * per_j, (q[i] - q[i + 1]) * per_q];
        }
        // The outer nodes own half a cell.
        for i in [0, n - 1] {
            out[i] = [2.0 * out[i][0], 2.0 * out[i][1]];
        }
    }
    if let Some((minus, rows)) = &mut slopes {
        diagonal(m, minus, &bottom_slope, &top_slope);
        rows[0] = bottom_slope;
        rows[n - 1] = top_slope;
    }
    if !totals_at_surfaces(s) {
        f.rim[..n].fill([0.0; 2]);
        f.rim_slope[..n].fill([0.0; 4]);
        for rim in s.rims.into_iter().flatten() {
            if slopes.is_some() {
                rim_losses::<true>(m, s, rim, f);
            } else {
                rim_losses::<false>(m, s, rim, f);
            }
        }
        for i in 0..n {
            let [w, q] = f.rim[i];
            out[i][0] -= w / m.rho_s;
            out[i][1] -= q / (m.rho_s * E_UNIT);
            totals.water += m.share(i) * w;
            totals.heat -= m.share(i) * q;
        }
        if let Some((minus, rows)) = slopes {
            let (own, heat) = (1.0 / m.rho_s, 1.0 / (m.rho_s * E_UNIT));
            for i in 0..n {
                let [wx, we, qx, qe] = f.rim_slope[i];
                minus
                    .diagonal
                    .add(i, [wx * own, we * own, qx * heat, qe * heat]);
                let share = m.share(i);
                let row = [share * wx, share * we, -share * qx, -share * qe];
                if i == 0 || i + 1 == n {
                    for k in 0..4 {
                        rows[i][k] += row[k];
                    }
                } else {
                    rows[i] = row;
                }
            }
        }
    }
    totals
}

/// Fills in the diagonal: what a node gives to its neighbours it loses, and the outer ones give to what surrounds
/// the piece. `bottom` and `top` are the slopes of what the surfaces take and bring.
#[inline(always)]
fn diagonal(m: &Material, minus: &mut Matrix, bottom: &Block, top: &Block) {
    let n = m.nodes;
    let [per_j, per_q] = per_flux(m);
    // Water leaves, heat enters.
    let gain = [-per_j, -per_j, per_q, per_q];
    for k in 0..4 {
        let (lower, upper) = (&mut minus.lower.0[k], &mut minus.upper.0[k]);
        let diagonal = &mut minus.diagonal.0[k];
        lower.0[n] = gain[k] * top[k];
        diagonal.0[0] = -lower.0[1] - gain[k] * bottom[k];
        for i in (0..n - 1).step_by(LANES) {
            let (to_above, to_below) = (lower.load(i + 2), upper.load(i));
            let mut own = [0.0; LANES];
            for l in 0..LANES {
                own[l] = -to_above[l] - to_below[l];
            }
            diagonal.store(i + 1, own);
        }
        // The outer nodes own half a cell.
        for i in [0, n - 1] {
            lower.0[i] *= 2.0;
            diagonal.0[i] *= 2.0;
            upper.0[i] *= 2.0;
        }
    }
}

/// Water \[kg/m²\] and heat \[J/m²\] that a state, or a change of one, holds.
#[inline(always)]
pub(crate) fn held(m: &Material, y: &State) -> Totals {
    let y = &y[..m.nodes];
    let mut lanes = [[0.0; 2]; 4];
    let rows = y.chunks_exact(4);
    let rest = rows.remainder();
    for four in rows {
        for (lane, v) in lanes.iter_mut().zip(four) {
            *lane = [lane[0] + v[0], lane[1] + v[1]];
        }
    }
    for (lane, v) in lanes.iter_mut().zip(rest) {
        *lane = [lane[0] + v[0], lane[1] + v[1]];
    }
    let [a, b, c, d] = lanes;
    let (first, last) = (y[0], y[y.len() - 1]);
    // The outer nodes own half a cell.
    let sum = [0, 1].map(|k| (a[k] + b[k]) + (c[k] + d[k]) - 0.5 * (first[k] + last[k]));
    Totals {
        water: m.dx * m.rho_s * sum[0],
        heat: m.dx * m.rho_s * E_UNIT * sum[1],
    }
}

/// Whether only the two surface nodes act on the totals.
pub(crate) fn totals_at_surfaces(s: &Surroundings) -> bool {
    s.rims.iter().all(Option::is_none)
}

/// Adds the log reduction of the last `time_s` seconds at every node; 0 starts the count.
#[inline(always)]
pub(crate) fn add_kill(m: &Material, f: &mut Fields, time_s: f64) {
    let abreast = filling(m.nodes);
    for i in (0..abreast).step_by(LANES) {
        kill_of::<LANES>(f, time_s, m.plain_dough, i);
    }
    if abreast < m.nodes {
        kill_of::<1>(f, time_s, m.plain_dough, abreast);
    }
}

/// The same at the nodes from `i` on.
#[inline(always)]
fn kill_of<const W: usize>(f: &mut Fields, time_s: f64, plain_dough: bool, i: usize) {
    let (theta, s) = (f.theta.v.some::<W>(i), f.s.some::<W>(i));
    let (ln_before, before) = (f.kill_ln.some::<W>(i), f.kill_rate.some::<W>(i));
    let (mut sum, mut outside) = (f.kill_sum.some::<W>(i), f.kill_outside.some::<W>(i));
    let (mut ln_now, mut now) = ([0.0; W], [0.0; W]);
    let (hot_ln, hot) = (f.hot_ln.some::<W>(i), f.hot_rate.some::<W>(i));
    let mut hot_sum = f.hot_sum.some::<W>(i);
    let (mut hot_ln_now, mut hot_now) = ([0.0; W], [0.0; W]);
    let (wet_ln, wet) = (f.wet_ln.some::<W>(i), f.wet_rate.some::<W>(i));
    let mut wet_sum = f.wet_sum.some::<W>(i);
    let (mut wet_ln_now, mut wet_now) = ([0.0; W], [0.0; W]);
    for l in 0..W {
        let a_w = 1.0 / (1.0 + exp(-s[l]));
        ln_now[l] = kill::ln_rate(theta[l], a_w);
        now[l] = exp(ln_now[l]);
        hot_ln_now[l] = kill::carried_on(theta[l], a_w);
        hot_now[l] = exp(hot_ln_now[l]);
        hot_sum[l] += time_s * kill::mean_rate(hot_ln[l], hot_ln_now[l], hot[l], hot_now[l]);
        wet_ln_now[l] = kill::wet_of(theta[l], a_w, plain_dough, ln_now[l]);
        wet_now[l] = exp(wet_ln_now[l]);
        wet_sum[l] += time_s * kill::mean_rate(wet_ln[l], wet_ln_now[l], wet[l], wet_now[l]);
        let gain = time_s * kill::mean_rate(ln_before[l], ln_now[l], before[l], now[l]);
        let tested = (theta[l] >= TESTED_CELSIUS.low)
            & (theta[l] <= TESTED_CELSIUS.high)
            & (a_w >= TESTED_WATER_ACTIVITY.low)
            & (a_w <= TESTED_WATER_ACTIVITY.high);
        sum[l] += gain;
        outside[l] += if tested { 0.0 } else { gain };
    }
    f.kill_ln.store(i, ln_now);
    f.kill_rate.store(i, now);
    f.kill_sum.store(i, sum);
    f.kill_outside.store(i, outside);
    f.hot_ln.store(i, hot_ln_now);
    f.hot_rate.store(i, hot_now);
    f.hot_sum.store(i, hot_sum);
    f.wet_ln.store(i, wet_ln_now);
    f.wet_rate.store(i, wet_now);
    f.wet_sum.store(i, wet_sum);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bake::case;

    /// The derivative laid out by hand against central differences, rim included.
    #[test]
    fn jacobian_is_the_derivative() {
        // Nine nodes are one more than fill the lanes.
        let dry = crate::bake::DryEnd::of(0.1, 2.8);
        for (exposure, cells, dry_end) in
            [(0.0, 6, None), (0.5, 6, dry), (0.0, 8, dry), (0.5, 8, None)]
        {
            let mut input = case::Benchmark::SteelBand.case().input;
            input.cells = cells;
            input.closures.vapour.knudsen_m2_per_s = 1e-6;
            input.closures.liquid.moisture_exponent = 1.5;
            input.closures.liquid.dry_end = dry_end;
            input.closures.conductivity.a[2][1] = 1e-3;
            input.closures.latent_heat = crate::bake::LatentHeat::IAPWS_FIT;
            input.stages[1].band_open = 0.3;
            input.edge = Some(crate::bake::Edge {
                perimeter_per_area_per_m: 139.2,
                exposure,
                path_m: 0.004,
                holes: Some(crate::bake::HoleWalls::of(5, 0.002, 1.5e-3, 1.0)),
            });
            let m = Material::new(&input);
            let s = Surroundings::new(&input, &input.stages[1]);
            let n = m.nodes;
            let mut y: State = (0..padded(n))
                .map(|i| {
                    let x = 0.03 + 0.06 * i as f64;
                    [x, m.enthalpy(x, 130.0 - 4.0 * i as f64)]
                })
                .collect();
            let mut f = Fields::default();
            f.resize(n);
            let (mut out, mut minus) = (vec![[0.0; 2]; padded(n)], Matrix::default());
            minus.resize(n);
            let mut totals = vec![[0.0; 4]; n];
            properties::<true>(&m, &y, &mut f);
            rates_and_jacobian(&m, &s, &mut f, &mut out, &mut minus, &mut totals);
            for (i, y) in y[..n].iter().enumerate() {
                let kelvin = f.celsius(i) + ZERO_C;
                let c = &input.closures;
                let (liquid, vapour) = (
                    c.liquid.m2_per_s(y[0], kelvin),
                    c.vapour.kg_per_m_s_pa(f.p.v.0[i], kelvin),
                );
                assert!((f.d.v.0[i] / liquid - 1.0).abs() < 1e-9);
                assert!((f.kv.v.0[i] / vapour - 1.0).abs() < 1e-9);
            }
            for c in 0..n {
                for v in 0..2 {
                    let h = 1e-6 * y[c][v];
                    let (mut up, mut down) = (out.clone(), out.clone());
                    let kept = y[c][v];
                    y[c][v] = kept + h;
                    properties::<false>(&m, &y, &mut f);
                    let t_up = rates(&m, &s, &mut f, &mut up);
                    y[c][v] = kept - h;
                    properties::<false>(&m, &y, &mut f);
                    let t_down = rates(&m, &s, &mut f, &mut down);
                    y[c][v] = kept;
                    for r in 0..n {
                        for w in 0..2 {
                            let block = match r as isize - c as isize {
                                0 => minus.diagonal.at(r),
                                1 => minus.lower.at(r),
                                -1 => minus.upper.at(r),
                                _ => [0.0; 4],
                            };
                            let exact = -block[2 * w + v];
                            let seen = (up[r][w] - down[r][w]) / (2.0 * h);
                            let size = exact.abs().max(1e-3);
                            assert!(
                                (seen - exact).abs() < 2e-6 * size,
                                "{r}{c}{w}{v} {seen} {exact}"
                            );
                        }
                    }
                    for (w, (a, b)) in [(t_up.water, t_down.water), (t_up.heat, t_down.heat)]
                        .iter()
                        .enumerate()
                    {
                        let seen = (a - b) / (2.0 * h);
                        let exact = totals[c][2 * w + v];
                        let size = exact.abs().max(1e-4);
                        assert!(
                            (seen - exact).abs() < 1e-5 * size,
                            "total {c}{w}{v} {seen} {exact}"
                        );
                    }
                }
            }
        }
    }
}
