//! Keeping: moisture that comes through the pack over months.
//!
//! Vapour passes the film at permeance · area · (p outside − a_w p_sat inside); the piece is in balance with the air in
//! its pack at every moment. Seal leaks, and what the film does at other temperatures, are left out: leaks usually
//! decide.

use super::climate::{Climate, STORE_K};
use crate::bake::Isotherm;
use crate::properties::water::saturation_pressure_pa;
use measure::units::DAY_S;
use measure::{Constant, DryBasis, Grade, Range, temperature::celsius};
use serde::Serialize;

/// Water activity at which a hard biscuit stops being crisp.
pub const CRISP_WATER_ACTIVITY: Constant = Constant {
    name: "water activity at which crispness goes",
    value: 0.55,
    unit: "1",
    range: Range::new(0.1, 0.9),
    source: "hard biscuits lose a tenth of their breaking force at 0.51, a fifth at 0.57 and half at 0.66 (curve through \
             two gluten-free biscuits in print); sweet ones and saltines go earlier; find your own by biting",
    grade: Grade::Computed,
};
/// Water activity above which moulds that like it dry may grow.
pub const MOULD_WATER_ACTIVITY: Constant = Constant {
    name: "water activity above which moulds may grow",
    value: 0.65,
    unit: "1",
    range: Range::new(0.6, 0.7),
    source: "lower end of the band of xerophilic moulds after Beuchat 1981, as reprinted (seen)",
    grade: Grade::Published,
};

/// One pack.
#[derive(Clone, Debug, PartialEq)]
pub struct KeepingInput {
    /// Area of film through which vapour passes \[m²\].
    pub area_m2: f64,
    /// Permeance of the film \[kg/(m² s Pa)\].
    pub permeance_kg_per_m2_s_pa: f64,
    /// Dry solid in the pack \[kg\].
    pub dry_kg: f64,
    /// Moisture when packed.
    pub start: DryBasis,
    /// Climate outside.
    pub climate: Climate,
    /// How long it is followed \[s\].
    pub duration_s: f64,
    /// Moments told, evenly spaced, the first at 0.
    pub moments: usize,
    /// Water activity at which crispness goes \[1\].
    pub crisp_water_activity: f64,
}

/// Moisture and water activity in the pack through time.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Keeping {
    /// Days in the pack.
    pub days: Vec<f64>,
    /// Moisture X at each \[kg/kg dry solid\].
    pub moisture: Vec<f64>,
    /// Water activity at the temperature of that day.
    pub water_activity: Vec<f64>,
    /// Days until crispness goes; none within the time followed.
    pub crisp_days: Option<f64>,
    /// Days until moulds may grow; none within the time followed.
    pub mould_days: Option<f64>,
    /// The same by the textbook's straight isotherm in the mean climate; none when that never gets there.
    pub crisp_days_closed_form: Option<f64>,
    /// The same for moulds.
    pub mould_days_closed_form: Option<f64>,
}

/// Why a pack can't be followed.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{field} is {value}; it must lie within {allowed}")]
pub struct KeepingError {
    /// Which number.
    pub field: &'static str,
    /// What was given.
    pub value: f64,
    /// What is allowed, with unit.
    pub allowed: String,
}

impl KeepingInput {
    /// Looks at every number.
    ///
    /// # Errors
    /// The first one outside what is allowed.
    pub fn check(&self) -> Result<(), KeepingError> {
        let check = |field, value: f64, low, high, unit: &str| {
            if Range::new(low, high).contains(value) {
                return Ok(());
            }
            let allowed = format!("{low} to {high} {unit}").trim_end().to_owned();
            Err(KeepingError {
                field,
                value,
                allowed,
            })
        };
        check("film area", self.area_m2, 1e-4, 100.0, "m²")?;
        check(
            "permeance of the film",
            self.permeance_kg_per_m2_s_pa,
            1e-18,
            1e-8,
            "kg/(m² s Pa)",
        )?;
        check("dry solid in the pack", self.dry_kg, 1e-4, 2000.0, "kg")?;
        check(
            "moisture when packed",
            self.start.0,
            1e-4,
            1.0,
            "kg/kg dry solid",
        )?;
        check(
            "time in the pack",
            self.duration_s / DAY_S,
            0.01,
            3650.0,
            "days",
        )?;
        check("moments", self.moments as f64, 2.0, 100_000.0, "")?;
        check("crispness limit", self.crisp_water_activity, 0.1, 0.9, "")?;
        check(
            "spells of the climate",
            self.climate.spells.len() as f64,
            1.0,
            1000.0,
            "",
        )?;
        for spell in &self.climate.spells {
            check(
                "length of a spell",
                spell.duration_s / DAY_S,
                0.01,
                3650.0,
                "days",
            )?;
            check(
                "temperature of the store",
                celsius(spell.temperature_k),
                celsius(STORE_K.low),
                celsius(STORE_K.high),
                "°C",
            )?;
            check(
                "relative humidity of the store",
                spell.relative_humidity,
                0.0,
                0.98,
                "",
            )?;
        }
        Ok(())
    }
}

/// Follows a pack with the product's own isotherm.
///
/// # Errors
/// A number outside what is allowed.
pub fn keeping(input: &KeepingInput, isotherm: &Isotherm) -> Result<Keeping, KeepingError> {
    input.check()?;
    Ok(with_isotherm(input, |x, k| {
        isotherm.water_activity(x, celsius(k))
    }))
}

/// The same for any isotherm: water activity from moisture \[kg/kg dry solid\] and temperature \[K\].
///
/// dX/dt = permeance · area/dry mass · (p outside − a_w(X, T) p_sat(T)), by the embedded pair of Bogacki and Shampine,
/// to 1e-8 kg/kg a step, from spell to spell.
///
/// - Equation: dX/dt = k A/m (p_out − a_w(X, T) p_sat(T))
/// - Units: moisture \[kg/kg dry solid\], temperature \[K\], a_w \[1\]; what comes out in days \[d\] and \[kg/kg\]
/// - Valid: the film alone resisting, the piece even throughout, an isotherm that rises
/// - Source: Heiss 1958; Labuza, Mizrahi and Karel 1972 (from memory, to be confirmed), whose closed form it meets
///   for a straight isotherm
///
/// ```
/// use baking::after::{Climate, KeepingInput, film::permeance_kg_per_m2_s_pa, keeping::with_isotherm};
/// use measure::DryBasis;
/// let pack = KeepingInput {
///     area_m2: 0.09, permeance_kg_per_m2_s_pa: permeance_kg_per_m2_s_pa(0.5, 311.15, 0.9), dry_kg: 0.4,
///     start: DryBasis(0.03), climate: Climate::steady(298.15, 0.65), duration_s: 2000.0 * 86_400.0, moments: 41,
///     crisp_water_activity: 0.35,
/// };
/// // A straight isotherm, 3 % to 6 %: 1357.3 days in closed form.
/// let kept = with_isotherm(&pack, |x, _| 0.20 + (x - 0.03) / 0.20);
/// assert!((kept.crisp_days.unwrap() - 1357.3).abs() < 1.0);
/// ```
pub fn with_isotherm(input: &KeepingInput, water_activity: impl Fn(f64, f64) -> f64) -> Keeping {
    let per_pa = input.permeance_kg_per_m2_s_pa * input.area_m2 / input.dry_kg;
    let limits = [input.crisp_water_activity, MOULD_WATER_ACTIVITY.value];
    let mut reached = [None; 2];
    let between = input.duration_s / (input.moments - 1) as f64;
    let (mut t, mut x) = (0.0, input.start.0);
    let spells = &input.climate.spells;
    let (mut spell, mut spell_end) = (0, spells[0].duration_s);
    let mut out = Keeping {
        days: Vec::with_capacity(input.moments),
        moisture: Vec::with_capacity(input.moments),
        water_activity: Vec::with_capacity(input.moments),
        crisp_days: None,
        mould_days: None,
        crisp_days_closed_form: None,
        mould_days_closed_form: None,
    };
    let mut h = between.min(DAY_S);
    let mut moment = 0;
    loop {
        let here = &spells[spell];
        let inside = |x: f64| water_activity(x, here.temperature_k);
        let (p_out, p_sat) = (
            here.vapour_pa(),
            saturation_pressure_pa(here.temperature_k.max(273.16)),
        );
        let rate = |x: f64| per_pa * (p_out - inside(x) * p_sat);
        let a = inside(x);
        // A limit may be passed by the weather alone, when a warmer spell begins.
        for (reached, limit) in reached.iter_mut().zip(limits) {
            if reached.is_none() && a >= limit {
                *reached = Some(t / DAY_S);
            }
        }
        if t >= between * moment as f64 - 1e-6 {
            out.days.push(t / DAY_S);
            out.moisture.push(x);
            out.water_activity.push(a);
            moment += 1;
            if moment == input.moments {
                break;
            }
        }
        let stop = (between * moment as f64).min(spell_end);
        let mut k1 = rate(x);
        while t < stop - 1e-6 {
            let step = h.min(stop - t);
            let k2 = rate(x + 0.5 * step * k1);
            let k3 = rate(x + 0.75 * step * k2);
            let next = x + step * (2.0 * k1 + 3.0 * k2 + 4.0 * k3) / 9.0;
            let k4 = rate(next);
            let error =
                step * (-5.0 / 72.0 * k1 + k2 / 12.0 + k3 / 9.0 - k4 / 8.0).abs() / STEP_ERROR;
            if error <= 1.0 {
                let (before, after) = (inside(x), inside(next));
                for (reached, limit) in reached.iter_mut().zip(limits) {
                    if reached.is_none() && after >= limit {
                        // Within a step of such accuracy the moisture goes by the cubic through both ends.
                        let share = crossing(
                            |s| inside(hermite(x, next, step * k1, step * k4, s)) - limit,
                            before - limit,
                        );
                        *reached = Some((t + share * step) / DAY_S);
                    }
                }
                t += step;
                x = next;
                k1 = k4;
            }
            h = step * (0.9 * error.max(1e-6).powf(-1.0 / 3.0)).clamp(0.2, 5.0);
        }
        t = stop;
        if stop == spell_end {
            spell = (spell + 1) % spells.len();
            spell_end += spells[spell].duration_s;
        }
    }
    [out.crisp_days, out.mould_days] = reached;
    let (mean_k, mean_pa) = input.climate.mean();
    let p_sat = saturation_pressure_pa(mean_k.max(273.16));
    let start = water_activity(input.start.0, mean_k);
    let closed = |limit: f64| {
        let end = moisture_at(&water_activity, limit, mean_k);
        if end <= input.start.0 {
            return Some(0.0);
        }
        let per_activity = (end - input.start.0) / (limit - start);
        let outside = input.start.0 + per_activity * (mean_pa / p_sat - start);
        straight_isotherm_s(per_pa * p_sat / per_activity, input.start.0, end, outside)
            .map(|s| s / DAY_S)
    };
    out.crisp_days_closed_form = closed(limits[0]);
    out.mould_days_closed_form = closed(limits[1]);
    out
}

/// Error of a step \[kg/kg\].
///
/// - Source: a numerical tolerance, chosen here
const STEP_ERROR: f64 = 1e-8;

/// Time \[s\] from a moisture to another with a straight isotherm: ln((m_e − m_i)/(m_e − m_c))/rate, with m_e the
/// moisture in balance with the store. `None` when the store is too dry to ever get there.
///
/// `rate_per_s` is permeance · area/dry mass · p_sat/(slope of the isotherm per a_w). After Heiss 1958 and Labuza,
/// Mizrahi and Karel 1972.
///
/// Check: 400 g dry solid, 0.09 m², 8.377e-5 g/(m² d Pa), 25 °C and 65 %, m = 0.03 + 0.20 (a_w − 0.20), 3 % to 6 %:
/// 1357.3 d (computed).
///
/// - Equation: t = ln((m_e − m_i)/(m_e − m_c))/rate
/// - Units: rate \[1/s\], moistures \[kg/kg dry solid\], t \[s\]
/// - Valid: an isotherm straight between the two moistures, one climate, the film alone resisting
/// - Source: Heiss 1958; Labuza, Mizrahi and Karel 1972 (from memory, to be confirmed); the example computed apart
///
/// ```
/// use baking::after::keeping::straight_isotherm_s;
/// use baking::after::film::permeance_kg_per_m2_s_pa;
/// let permeance = permeance_kg_per_m2_s_pa(0.5, 311.15, 0.9);
/// let rate = permeance * 0.09 / 0.4 * baking::properties::water::saturation_pressure_pa(298.15) / 0.20;
/// let days = straight_isotherm_s(rate, 0.03, 0.06, 0.12).unwrap() / 86_400.0;
/// assert!((days - 1357.3).abs() < 1.0, "{days}");
/// ```
pub fn straight_isotherm_s(rate_per_s: f64, from: f64, to: f64, outside: f64) -> Option<f64> {
    (outside > to).then(|| ((outside - from) / (outside - to)).ln() / rate_per_s)
}

fn hermite(x0: f64, x1: f64, d0: f64, d1: f64, s: f64) -> f64 {
    let rise = x1 - x0;
    x0 + s * (d0 + s * (3.0 * rise - 2.0 * d0 - d1 + s * (d0 + d1 - 2.0 * rise)))
}

/// Where a function that is below zero at 0 and not at 1 passes zero.
fn crossing(f: impl Fn(f64) -> f64, at_start: f64) -> f64 {
    if at_start >= 0.0 {
        return 0.0;
    }
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..40 {
        let middle = 0.5 * (low + high);
        if f(middle) < 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    high
}

/// Moisture at a water activity, by halving between bone dry and soaked.
fn moisture_at(water_activity: &impl Fn(f64, f64) -> f64, wanted: f64, kelvin: f64) -> f64 {
    let (mut low, mut high) = (1e-6_f64, 2.0_f64);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if water_activity(middle, kelvin) < wanted {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}
