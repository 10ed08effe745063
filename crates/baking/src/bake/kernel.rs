//! The right-hand side of the balances and its exact derivative, laid out so that it vectorises; what is laid out here is
//! stated in `laws.rs`. The file is long because balance, slopes, kill and totals share their fields.
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
use super::isotherm::{Curve, LEAST_MOISTURE};
use super::kill::{self, TESTED_CELSIUS, TESTED_WATER_ACTIVITY};
use super::laws::{self, Along, Face, Gas, Held, MW_OVER_R, Moved, Node, Rim, Seen, Sloped};
use super::surface::{GAS_CONSTANT, mass_transfer_per_film_kelvin};
use crate::numerics::block_tridiagonal::{Block, Matrix};
use crate::numerics::elementary::{exp, ln};
use crate::numerics::lanes::{Field, LANES, Lanes, padded};
use crate::numerics::number::Number;

/// One unit of E in J/kg dry solid.
///
/// - Units: \[J/kg\]
/// - Source: a scale of the unknowns, chosen here
pub(crate) const E_UNIT: f64 = 1e5;
/// 0 °C.
///
/// - Units: \[K\]
/// - Source: by definition
pub(crate) const ZERO_C: f64 = 273.15;

/// A state: X and E of every node, padded with copies of the last one.
pub(crate) type State = Vec<[f64; 2]>;

/// The fall of the liquid diffusivity at the dry end.
#[derive(Clone, Copy, Debug)]
pub(crate) struct DryRate {
    pub(crate) power: f64,
    pub(crate) ln_moisture: f64,
}

/// What a node's properties are computed with.
#[derive(Clone, Debug)]
pub(crate) struct Material {
    pub(crate) c_s: f64,
    pub(crate) c_w: f64,
    pub(crate) k_floor: f64,
    pub(crate) sat: [f64; 6],
    pub(crate) latent: [f64; 3],
    pub(crate) g: f64,
    pub(crate) curve: Curve,
    pub(crate) over_reference: f64,
    pub(crate) moisture_exponent: f64,
    pub(crate) dry_end: Option<DryRate>,
    pub(crate) knudsen: f64,
    pub(crate) smoothing_squared: f64,
    pub(crate) moved: Moved,
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
            over_reference: 1.0 / c.liquid.reference_k,
            moisture_exponent: c.liquid.moisture_exponent,
            dry_end: c.liquid.dry_end.map(|dry| DryRate {
                power: dry.power,
                ln_moisture: dry.moisture.ln(),
            }),
            knudsen: c.vapour.knudsen_m2_per_s,
            smoothing_squared: c.vapour.smoothing * c.vapour.smoothing,
            moved: Moved {
                k: c.conductivity.a,
                d0: c.liquid.d0_m2_per_s,
                activation_over_r: c.liquid.activation_j_per_mol / GAS_CONSTANT,
                // Free-air diffusivity 2.26e-5 m²/s at 0 °C, growing with T^1.81 (Massman 1998 form).
                free_air: c.vapour.porosity_over_tortuosity * 2.26e-5,
                permeability: c.vapour.permeability_m2,
                emissivity: c.emissivity,
            },
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

    /// Heat of evaporation and its slope.
    #[inline(always)]
    pub(crate) fn latent<T: Number>(&self, celsius: T) -> (T, T) {
        let [l0, l1, l2] = self.latent;
        (
            celsius.mul_add(celsius.times_plus(l2, T::of(l1)), T::of(l0)),
            celsius.times_plus(2.0 * l2, T::of(l1)),
        )
    }

    /// What a whole cell gains \[1/s\] per unit of the two fluxes.
    #[inline(always)]
    pub(crate) fn per_flux(&self) -> [f64; 2] {
        let water = 1.0 / (self.rho_s * self.dx);
        [water, water / E_UNIT]
    }
}

/// What surrounds the piece during a stage.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Surroundings<T = f64> {
    pub(crate) air_k: f64,
    pub(crate) radiating_k: f64,
    pub(crate) band_k: f64,
    pub(crate) air_vapour_over_t: f64,
    pub(crate) top: T,
    pub(crate) bottom: T,
    /// k_m M_w/R per film kelvin at the top, bottom and rim.
    pub(crate) vapour_top: T,
    pub(crate) vapour_bottom: T,
    /// The outer rim, and the walls of docker holes.
    pub(crate) rims: [Option<Rim<T>>; 2],
}

impl<T: Number> Surroundings<T> {
    /// The gas over the top, and round the rim.
    #[inline(always)]
    pub(crate) fn over(&self, emissivity: T) -> Gas<T> {
        Gas {
            vapour: self.vapour_top,
            h: self.top,
            emissivity,
            gas_k: self.air_k,
            air_k: self.air_k,
            radiating_k: self.radiating_k,
            air_vapour_over_t: self.air_vapour_over_t,
        }
    }

    /// The band and what passes through it.
    #[inline(always)]
    pub(crate) fn under(&self) -> Gas<T> {
        Gas {
            vapour: self.vapour_bottom,
            h: self.bottom,
            emissivity: T::of(0.0),
            gas_k: self.band_k,
            ..self.over(T::of(0.0))
        }
    }
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
    let (mut left, mut left_x) = ([1.0; W], z);
    if let Some(dry) = m.dry_end {
        let ln_x = f.ln_x.some::<W>(i);
        for l in 0..W {
            (left[l], left_x[l]) = laws::left_at(dry.power, dry.ln_moisture, ln_x[l]);
        }
    }
    for l in 0..W {
        let held = Held {
            x: x[l],
            theta: theta[l],
            s: s[l],
            s_slope: s_slope[l],
            left: left[l],
            left_x: left_x[l],
        };
        let n = laws::node::<f64, SLOPES>(m, &m.moved, held);
        p[l] = n.p.v;
        d[l] = n.d.v;
        kv[l] = n.kv.v;
        k[l] = n.k.v;
        if SLOPES {
            (tx[l], te[l]) = (n.theta.x, n.theta.e);
            (px[l], pe[l]) = (n.p.x, n.p.e);
            (dx[l], de[l]) = (n.d.x, n.d.e);
            (kvx[l], kve[l]) = (n.kv.x, n.kv.e);
            (kx[l], ke[l]) = (n.k.x, n.k.e);
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
            let below = Seen {
                x: xa[l],
                theta: ta[l],
                p: pa[l],
                d: da[l],
                kv: va[l],
                k: ka[l],
            };
            let above = Seen {
                x: xb[l],
                theta: tb[l],
                p: pb[l],
                d: db[l],
                kv: vb[l],
                k: kb[l],
            };
            let face = laws::face(m, over_dx, below, above);
            j[l] = face.j;
            q[l] = face.q;
            faces.put(l, &face);
        }
        f.j[b..b + LANES].copy_from_slice(&j);
        f.q[b..b + LANES].copy_from_slice(&q);
        if let Some(minus) = minus.as_deref_mut() {
            minus.lower.store(b, slopes::<true>(m, &faces, f, a));
            minus.upper.store(a, slopes::<false>(m, &faces, f, b));
        }
    }
}

/// Faces side by side.
#[derive(Clone, Copy, Default)]
struct Faces([Lanes; 9]);

impl Faces {
    #[inline(always)]
    fn put(&mut self, l: usize, face: &Face<f64>) {
        let Face {
            j: _,
            q: _,
            half_grad_p,
            half_grad_x,
            half_grad_t,
            vapour,
            liquid,
            heat,
            carried,
            latent,
            q_theta,
        } = *face;
        let parts = [
            half_grad_p,
            half_grad_x,
            half_grad_t,
            vapour,
            liquid,
            heat,
            carried,
            latent,
            q_theta,
        ];
        for (lanes, part) in self.0.iter_mut().zip(parts) {
            lanes[l] = part;
        }
    }

    #[inline(always)]
    fn at(&self, l: usize) -> Face<f64> {
        let part = |i: usize| self.0[i][l];
        Face {
            j: 0.0,
            q: 0.0,
            half_grad_p: part(0),
            half_grad_x: part(1),
            half_grad_t: part(2),
            vapour: part(3),
            liquid: part(4),
            heat: part(5),
            carried: part(6),
            latent: part(7),
            q_theta: part(8),
        }
    }
}

/// What the faces put into the rows above them with the nodes below, or into those below with the nodes above;
/// `node` is the first of these nodes.
#[inline(always)]
fn slopes<const BELOW: bool>(m: &Material, c: &Faces, f: &Fields, node: usize) -> [Lanes; 4] {
    let (dx, vx, px) = (f.d.x.load(node), f.kv.x.load(node), f.p.x.load(node));
    let (kx, tx) = (f.k.x.load(node), f.theta.x.load(node));
    let (de, ve, pe) = (f.d.e.load(node), f.kv.e.load(node), f.p.e.load(node));
    let (ke, te) = (f.k.e.load(node), f.theta.e.load(node));
    let mut out = [[0.0; LANES]; 4];
    for l in 0..LANES {
        let x = Along {
            d: dx[l],
            kv: vx[l],
            p: px[l],
            k: kx[l],
            theta: tx[l],
        };
        let e = Along {
            d: de[l],
            kv: ve[l],
            p: pe[l],
            k: ke[l],
            theta: te[l],
        };
        let slopes = laws::face_slopes::<f64, BELOW>(m, &c.at(l), [x, e]);
        for (out, slope) in out.iter_mut().zip(slopes) {
            out[l] = slope;
        }
    }
    out
}

impl Property {
    #[inline(always)]
    fn at(&self, i: usize) -> Sloped<f64> {
        Sloped {
            v: self.v.0[i],
            x: self.x.0[i],
            e: self.e.0[i],
        }
    }
}

/// The law of a surface at a node.
#[inline(always)]
pub(crate) fn surface(m: &Material, f: &Fields, node: usize, gas: &Gas<f64>) -> ([f64; 2], Block) {
    laws::surface(m, f.theta.at(node), f.p.at(node), gas)
}

/// Adds what leaves through a rim per volume, node by node.
#[inline(always)]
fn rim_losses<const SLOPES: bool>(m: &Material, s: &Surroundings, rim: Rim, f: &mut Fields) {
    let gas = s.over(m.moved.emissivity);
    for i in 0..m.nodes {
        let node = Node {
            x: f.x.0[i],
            theta: f.theta.at(i),
            p: f.p.at(i),
            d: f.d.at(i),
            kv: f.kv.at(i),
            k: f.k.at(i),
        };
        let (lost, slopes) = laws::rim::<f64, SLOPES>(m, &gas, rim, &node);
        f.rim[i][0] += lost[0];
        f.rim[i][1] += lost[1];
        if SLOPES {
            for (sum, part) in f.rim_slope[i].iter_mut().zip(slopes) {
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
    let (top, top_slope) = surface(m, f, n - 1, &s.over(m.moved.emissivity));
    let (bottom, bottom_slope) = surface(m, f, 0, &s.under());
    f.j[0] = -bottom[0];
    f.q[0] = bottom[1];
    f.j[n] = top[0];
    f.q[n] = -top[1];
    let mut totals = Totals {
        water: top[0] + bottom[0],
        heat: top[1] + bottom[1],
    };
    let [per_j, per_q] = m.per_flux();
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
    let [per_j, per_q] = m.per_flux();
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
