//! The laws of the balances and their slopes, stated once for every kind of number: plain ones for the bake, ones that
//! carry derivatives for how it answers to its multipliers.
//!
//! A flux and its derivative have to be read side by side. Slopes are total derivatives with respect to X and E of a node.

use super::kernel::{E_UNIT, Material, ZERO_C};
use super::surface::{PRESSURE_PA, STEFAN_BOLTZMANN, WATER_MOLAR_MASS};
use super::{isotherm::LEAST_MOISTURE, isotherm::ROOM_CELSIUS, surface::GAS_CONSTANT};
use crate::numerics::number::Number;

/// Added to a sum of conductances, so that a piece without any gives nought and not nonsense.
///
/// - Units: as the sum, \[m/s\]
/// - Source: a numerical floor, chosen here
const LEAST_SUM: f64 = 1e-40;
/// ln 273.15.
///
/// - Units: ln of \[K\]
/// - Source: the logarithm of a definition
const LN_ZERO_C: f64 = 5.610_021_094_841_726;
/// Molar mass of water over the gas constant.
///
/// - Units: \[kg K/J\]
/// - Source: a ratio of constants beside their sources
pub(crate) const MW_OVER_R: f64 = WATER_MOLAR_MASS / GAS_CONSTANT;
/// Temperature is not taken below this inside the property laws \[K\].
///
/// - Source: a numerical floor, chosen here
const LEAST_K: f64 = 150.0;

/// The numbers of a material that a multiplier may move.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Moved<T = f64> {
    pub(crate) k: [[T; 2]; 3],
    pub(crate) d0: T,
    pub(crate) activation_over_r: T,
    pub(crate) free_air: T,
    pub(crate) permeability: T,
    pub(crate) emissivity: T,
}

/// A quantity of a node with its slopes by X and by E.
#[derive(Clone, Copy)]
pub(crate) struct Sloped<T> {
    pub(crate) v: T,
    pub(crate) x: T,
    pub(crate) e: T,
}

/// What a node holds, and what the property laws start from.
#[derive(Clone, Copy)]
pub(crate) struct Held<T> {
    pub(crate) x: T,
    pub(crate) theta: T,
    /// The isotherm's S and dS/d ln X.
    pub(crate) s: T,
    pub(crate) s_slope: T,
    /// The share of the wet diffusivity that is left, and what its logarithm gains per ln X times that share.
    pub(crate) left: T,
    pub(crate) left_x: T,
}

/// Temperature and properties of a node.
#[derive(Clone, Copy)]
pub(crate) struct Node<T> {
    pub(crate) x: T,
    pub(crate) theta: Sloped<T>,
    pub(crate) p: Sloped<T>,
    pub(crate) d: Sloped<T>,
    pub(crate) kv: Sloped<T>,
    pub(crate) k: Sloped<T>,
}

/// The share of the wet diffusivity that is left at ln X, and what its logarithm gains per ln X times that share.
#[inline(always)]
pub(crate) fn left_at<T: Number>(power: f64, ln_moisture: f64, ln_x: T) -> (T, T) {
    let held = ((ln_x - ln_moisture) * power).exp();
    let gone = (-held).exp();
    (-gone + 1.0, held * power * gone)
}

/// The property laws at a node.
#[inline(always)]
pub(crate) fn node<T: Number, const SLOPES: bool>(
    m: &Material,
    moved: &Moved<T>,
    held: Held<T>,
) -> Node<T> {
    let Held {
        x,
        theta,
        s,
        s_slope,
        left,
        left_x,
    } = held;
    let t = (theta + ZERO_C).at_least(LEAST_K);
    let over_t = t.over();
    let ln_t = t.ln();
    let logit = (theta - ROOM_CELSIUS).times_plus(m.g, s);
    let a_w = ((-logit).exp() + 1.0).over();
    let [c_1, c0, c1, c2, c3, cl] = m.sat;
    let powers = t.mul_add(t.mul_add(t.times_plus(c3, T::of(c2)), T::of(c1)), T::of(c0));
    let ln_sat = ln_t.times_plus(cl, over_t.times_plus(c_1, powers));
    let pv = a_w * ln_sat.exp();
    let free = moved.free_air * ((ln_t - LN_ZERO_C) * 1.81).exp();
    let warmth = moved.activation_over_r * (-over_t + m.over_reference);
    let wet = moved.d0 * x.times_plus(m.moisture_exponent, warmth).exp();
    let dl = wet * left;
    let gap = -(pv / PRESSURE_PA) + 1.0;
    let root = gap.mul_add(gap, T::of(m.smoothing_squared)).sqrt();
    let air = (gap + root) * 0.5;
    // μ_v = 1.23e-5·T/373.15 Pa s
    let flow = moved.permeability * PRESSURE_PA * (373.15 / 1.23e-5) * over_t;
    let by_pressure = (-gap + 1.0 + air).mul_add(flow, T::of(m.knudsen));
    let over_sum = (air.mul_add(by_pressure, free) + LEAST_SUM).over();
    let d_e = free * by_pressure * over_sum;
    let mass = over_t * MW_OVER_R;
    let [k_0, k_1, k_2] = moved.k;
    let rows = [
        theta.mul_add(k_0[1], k_0[0]),
        theta.mul_add(k_1[1], k_1[0]),
        theta.mul_add(k_2[1], k_2[0]),
    ];
    let k_free = x.mul_add(x.mul_add(rows[2], rows[1]), rows[0]);
    let none = |v: T| Sloped {
        v,
        x: T::of(0.0),
        e: T::of(0.0),
    };
    let k = k_free.at_least(m.k_floor);
    if !SLOPES {
        return Node {
            x,
            theta: none(theta),
            p: none(pv),
            d: none(dl),
            kv: none(d_e * mass),
            k: none(k),
        };
    }
    let over_c = x.times_plus(m.c_w, T::of(m.c_s)).over();
    let theta_x = theta * -m.c_w * over_c;
    let theta_e = over_c * E_UNIT;
    let dry = -a_w + 1.0;
    let over_x = if x.value() > LEAST_MOISTURE {
        x.over()
    } else {
        T::of(0.0)
    };
    let boiling = over_t.mul_add(-(over_t * c_1) + cl, T::of(c1));
    let ln_sat_t = t.mul_add(t.times_plus(3.0 * c3, T::of(2.0 * c2)), boiling);
    let p_x = pv * dry * s_slope * over_x;
    let p_t = pv * dry.times_plus(m.g, ln_sat_t);
    let dl_x = dl.times_plus(m.moisture_exponent, wet * left_x * over_x);
    let dl_t = dl * moved.activation_over_r * over_t * over_t;
    let air_gap = air / root;
    let flow_gap = flow * (air_gap - 1.0);
    let square = over_sum * over_sum;
    let by_flow = free * free * square;
    let by_free = air * by_pressure * by_pressure * square;
    let by_air = -free * by_pressure * by_pressure * square;
    let d_gap = by_flow.mul_add(flow_gap, by_air * air_gap);
    let d_t = by_free.mul_add(
        free * 1.81 * over_t,
        by_flow * (-by_pressure + m.knudsen) * over_t,
    );
    let kv_p = -mass * d_gap / PRESSURE_PA;
    let kv_t = mass * (d_t - d_e * over_t);
    let alive = if k_free.value() > m.k_floor { 1.0 } else { 0.0 };
    let k_x = (x * 2.0).mul_add(rows[2], rows[1]) * alive;
    let k_t = x.mul_add(x.mul_add(moved.k[2][1], moved.k[1][1]), moved.k[0][1]) * alive;
    let p = Sloped {
        v: pv,
        x: p_t.mul_add(theta_x, p_x),
        e: p_t * theta_e,
    };
    Node {
        x,
        theta: Sloped {
            v: theta,
            x: theta_x,
            e: theta_e,
        },
        d: Sloped {
            v: dl,
            x: dl_t.mul_add(theta_x, dl_x),
            e: dl_t * theta_e,
        },
        kv: Sloped {
            v: d_e * mass,
            x: kv_p.mul_add(p.x, kv_t * theta_x),
            e: kv_p.mul_add(p.e, kv_t * theta_e),
        },
        k: Sloped {
            v: k,
            x: k_t.mul_add(theta_x, k_x),
            e: k_t * theta_e,
        },
        p,
    }
}

/// What of a node a face sees.
#[derive(Clone, Copy)]
pub(crate) struct Seen<T> {
    pub(crate) x: T,
    pub(crate) theta: T,
    pub(crate) p: T,
    pub(crate) d: T,
    pub(crate) kv: T,
    pub(crate) k: T,
}

impl<T: Number> Node<T> {
    #[inline(always)]
    pub(crate) fn seen(&self) -> Seen<T> {
        Seen {
            x: self.x,
            theta: self.theta.v,
            p: self.p.v,
            d: self.d.v,
            kv: self.kv.v,
            k: self.k.v,
        }
    }
}

/// The fluxes at a face, and what their derivatives are made of.
#[derive(Clone, Copy)]
pub(crate) struct Face<T> {
    /// Water and heat, upward.
    pub(crate) j: T,
    pub(crate) q: T,
    /// Half the gradient of p, of X times ρ_s, and of θ.
    pub(crate) half_grad_p: T,
    pub(crate) half_grad_x: T,
    pub(crate) half_grad_t: T,
    /// Means of K_v, of D times ρ_s, and of k, over the cell.
    pub(crate) vapour: T,
    pub(crate) liquid: T,
    pub(crate) heat: T,
    /// Enthalpy of liquid water, heat of evaporation, and half the change of q with θ of the face.
    pub(crate) carried: T,
    pub(crate) latent: T,
    pub(crate) q_theta: T,
}

/// The fluxes between the node below a face and the one above.
#[inline(always)]
pub(crate) fn face<T: Number>(m: &Material, over_dx: f64, a: Seen<T>, b: Seen<T>) -> Face<T> {
    let [l0, l1, l2] = m.latent;
    let theta = (a.theta + b.theta) * 0.5;
    let grad_p = (b.p - a.p) * over_dx;
    let v = (a.kv + b.kv) * 0.5;
    let vapour = -v * grad_p;
    let liquid = (a.d + b.d) * (m.rho_s * 0.5);
    let grad_x = (b.x - a.x) * over_dx;
    let water = (-liquid).mul_add(grad_x, vapour);
    let latent = theta.mul_add(theta.times_plus(l2, T::of(l1)), T::of(l0));
    let carried = theta * m.c_w;
    let grad_t = (b.theta - a.theta) * over_dx;
    let k = (a.k + b.k) * 0.5;
    let latent_t = theta.times_plus(2.0 * l2, T::of(l1));
    Face {
        j: water,
        q: (-k).mul_add(grad_t, carried.mul_add(water, latent * vapour)),
        half_grad_p: grad_p * 0.5,
        half_grad_x: grad_x * (0.5 * m.rho_s),
        half_grad_t: grad_t * 0.5,
        vapour: v * over_dx,
        liquid: liquid * over_dx,
        heat: k * over_dx,
        carried,
        latent,
        q_theta: water.times_plus(m.c_w, latent_t * vapour) * 0.5,
    }
}

/// Slopes of a node's quantities along one of X and E, as a face takes them.
#[derive(Clone, Copy)]
pub(crate) struct Along<T> {
    pub(crate) d: T,
    pub(crate) kv: T,
    pub(crate) p: T,
    pub(crate) k: T,
    pub(crate) theta: T,
}

impl<T: Number> Node<T> {
    /// The slopes by X and by E.
    #[inline(always)]
    pub(crate) fn along(&self) -> [Along<T>; 2] {
        [
            Along {
                d: self.d.x,
                kv: self.kv.x,
                p: self.p.x,
                k: self.k.x,
                theta: self.theta.x,
            },
            Along {
                d: self.d.e,
                kv: self.kv.e,
                p: self.p.e,
                k: self.k.e,
                theta: self.theta.e,
            },
        ]
    }
}

/// What the fluxes at a face gain with the node below it, or with that above: by X and by E. Water first, then heat, each
/// times what a cell gains per flux with the sign of the row it goes to.
#[inline(always)]
pub(crate) fn face_slopes<T: Number, const BELOW: bool>(
    m: &Material,
    c: &Face<T>,
    [x, e]: [Along<T>; 2],
) -> [T; 4] {
    let sign = if BELOW { 1.0 } else { -1.0 };
    let [per_j, per_q] = m.per_flux().map(|v| -sign * v);
    let by_theta = c.heat.times_plus(sign, c.q_theta);
    let [water_x, vapour_x] = water_slopes(c, sign, x, c.liquid * sign);
    let [water_e, vapour_e] = water_slopes(c, sign, e, T::of(0.0));
    let [heat_x, heat_e] = [
        heat_slope(c, by_theta, x, water_x, vapour_x),
        heat_slope(c, by_theta, e, water_e, vapour_e),
    ];
    [
        water_x * per_j,
        water_e * per_j,
        heat_x * per_q,
        heat_e * per_q,
    ]
}

/// Slopes of the flux of all water and of vapour; `moisture` is what the gradient of moisture gives.
#[inline(always)]
fn water_slopes<T: Number>(c: &Face<T>, sign: f64, a: Along<T>, moisture: T) -> [T; 2] {
    let vapour = (-c.half_grad_p).mul_add(a.kv, c.vapour * sign * a.p);
    [(-c.half_grad_x).mul_add(a.d, moisture + vapour), vapour]
}

#[inline(always)]
fn heat_slope<T: Number>(c: &Face<T>, by_theta: T, a: Along<T>, water: T, vapour: T) -> T {
    let heat = (-c.half_grad_t).mul_add(a.k, a.theta * by_theta);
    c.carried.mul_add(water, c.latent.mul_add(vapour, heat))
}

/// The gas at a surface.
#[derive(Clone, Copy)]
pub(crate) struct Gas<T> {
    /// k_m M_w/R per film kelvin, and the heat transfer coefficient.
    pub(crate) vapour: T,
    pub(crate) h: T,
    pub(crate) emissivity: T,
    /// Temperature of what gives heat to the surface, of the air and of what radiates.
    pub(crate) gas_k: f64,
    pub(crate) air_k: f64,
    pub(crate) radiating_k: f64,
    pub(crate) air_vapour_over_t: f64,
}

/// A surface law: water leaving, heat entering (with what the water carries off), and their
/// derivatives by X and E of the surface node.
#[inline(always)]
pub(crate) fn surface<T: Number>(
    m: &Material,
    theta: Sloped<T>,
    p: Sloped<T>,
    gas: &Gas<T>,
) -> ([T; 2], [T; 4]) {
    let t = theta.v + ZERO_C;
    let over_t = t.over();
    let drive = p.v * over_t - gas.air_vapour_over_t;
    let film = (t + gas.air_k) * 0.5;
    let open = gas.vapour * film;
    let water = open * drive;
    let water_p = open * over_t;
    let water_t = gas.vapour * (drive * 0.5 - film * p.v * over_t * over_t);
    let (latent, latent_t) = m.latent(theta.v);
    let carried = theta.v * m.c_w + latent;
    let radiation = gas.emissivity * STEFAN_BOLTZMANN;
    let t_2 = t * t;
    let dry = gas.h * (-t + gas.gas_k) + radiation * (-(t_2 * t_2) + gas.radiating_k.powi(4));
    let dry_t = -gas.h - radiation * 4.0 * t * t * t;
    let wx = water_p * p.x + water_t * theta.x;
    let we = water_p * p.e + water_t * theta.e;
    let heat_t = dry_t - water * (latent_t + m.c_w);
    (
        [water, dry - carried * water],
        [
            wx,
            we,
            heat_t * theta.x - carried * wx,
            heat_t * theta.e - carried * we,
        ],
    )
}

/// The rim of a piece, or the walls of its holes: what passes per volume.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Rim<T = f64> {
    pub(crate) per_volume: f64,
    pub(crate) exposure: T,
    pub(crate) path: T,
}

/// What leaves a node through a rim per volume: water and heat, and with slopes their derivatives by X and E.
#[inline(always)]
pub(crate) fn rim<T: Number, const SLOPES: bool>(
    m: &Material,
    gas: &Gas<T>,
    rim: Rim<T>,
    n: &Node<T>,
) -> ([T; 2], [T; 4]) {
    let radiation = gas.emissivity * STEFAN_BOLTZMANN * rim.exposure;
    let (top, vapour) = (gas.h * rim.exposure, gas.vapour * rim.exposure);
    let r = gas.radiating_k;
    let dry_far = top * gas.air_k + radiation * r.powi(4);
    let (theta, p, k, kv) = (n.theta.v, n.p.v, n.k.v, n.kv.v);
    let t = theta + ZERO_C;
    let over_t = t.over();
    let h = top + radiation * (t * t + r * r) * (t + r);
    let over = (k + h * rim.path).over();
    let dry_gas = dry_far - top * t - radiation * t * t * t * t;
    let dry = dry_gas * k * over;
    let film = (t + gas.air_k) * 0.5;
    let drive = p * over_t - gas.air_vapour_over_t;
    let open = vapour * film * over_t;
    let over_v = (kv + rim.path * open + LEAST_SUM).over();
    let water = vapour * film * drive * kv * over_v;
    let (latent, latent_t) = m.latent(theta);
    let carried = theta * m.c_w + latent;
    let out = [
        water * rim.per_volume,
        (carried * water - dry) * rim.per_volume,
    ];
    if !SLOPES {
        return (out, [T::of(0.0); 4]);
    }
    let h_t = radiation * (t * (2.0 * r) + r * r + t * 3.0 * t);
    let dry_gas_t = -top - radiation * 4.0 * t * t * t;
    let dry_t = (dry_gas_t * k - dry * rim.path * h_t) * over;
    let dry_k = (dry_gas - dry) * over;
    let open_t = vapour * over_t * (-(film * over_t) + 0.5);
    let gas_now = vapour * film * drive;
    let gas_t = vapour * (drive * 0.5 - film * p * over_t * over_t);
    let water_t = (gas_t * kv - water * rim.path * open_t) * over_v;
    let water_p = open * kv * over_v;
    let water_kv = (gas_now - water) * over_v;
    let [x, e] = n.along();
    let wx = water_t * x.theta + water_p * x.p + water_kv * x.kv;
    let we = water_t * e.theta + water_p * e.p + water_kv * e.kv;
    let warmer = water * (latent_t + m.c_w);
    let qx = carried * wx + warmer * x.theta - (dry_t * x.theta + dry_k * x.k);
    let qe = carried * we + warmer * e.theta - (dry_t * e.theta + dry_k * e.k);
    let per = rim.per_volume;
    (out, [wx * per, we * per, qx * per, qe * per])
}
