//! Checking: cracks hours after the bake, from moisture that evens out in a crumb that has set.
//!
//! The crumb leaves the oven soft. Once it has cooled it is rigid, and what moisture it then holds at each place is
//! what it is free of stress with. As water moves on, the places that dry want to shrink and those that take it up want
//! to swell; the piece holds them together. In a plate held flat the stress at a height x is
//! σ(x) = E α/(1 − ν) · (mean ΔM − ΔM(x)), tension positive, with ΔM(x) the change of moisture since setting
//! \[points, dry basis\]; a plate free to bend loses the part that a bow takes up as well. The index is the greatest
//! tension over the strength, times the brittle share of the crumb there: moist crumb gives way instead of cracking,
//! by the curve with which biscuits lose their breaking force to water activity. Fat makes checking worst at about 15 per
//! 100 flour, less above and below. It is an index until it is calibrated on counted cracks: E, α and strength are recalled
//! or assumed, and heat, rim and docker holes are left out.

use super::evening::{Course, mean};
use crate::bake::Profile;
use crate::bake::isotherm::ROOM_CELSIUS;
use measure::{Constant, DryBasis, Given, Grade, Range, temperature::celsius};

/// Young's modulus of a dry biscuit.
pub const MODULUS: Constant = Constant {
    name: "modulus of the baked crumb",
    value: 100.0,
    unit: "MPa",
    range: Range::new(10.0, 1000.0),
    source: "order of magnitude of short biscuits in bending, from memory",
    grade: Grade::Recalled,
};
/// Poisson's ratio.
pub const POISSON: Constant = Constant {
    name: "Poisson's ratio of the baked crumb",
    value: 0.3,
    unit: "1",
    range: Range::new(0.0, 0.49),
    source: "working value for brittle porous solids",
    grade: Grade::Assumed,
};
/// Expansion per point of moisture, dry basis.
pub const EXPANSION: Constant = Constant {
    name: "expansion of the crumb per point of moisture",
    value: 0.004,
    unit: "1 per point, dry basis",
    range: Range::new(0.0005, 0.012),
    source: "0.002 to 0.006, worked back from a strain of 0.01 in 48 h over several points (Saleem et al. 2003, \
             abstract seen; linear in moisture)",
    grade: Grade::Assumed,
};
/// Strength in tension.
pub const STRENGTH: Constant = Constant {
    name: "strength of the crumb in tension",
    value: 1.0,
    unit: "MPa",
    range: Range::new(0.05, 10.0),
    source: "0.3 to 2 MPa for biscuits in bending, from memory",
    grade: Grade::Recalled,
};
/// Temperature under which the crumb is rigid.
pub const SETTING_CELSIUS: Constant = Constant {
    name: "temperature under which the crumb is rigid",
    value: 60.0,
    unit: "°C",
    range: Range::new(20.0, 120.0),
    source: "from the rule to keep pieces above 60 °C until their moisture is even, from memory",
    grade: Grade::Recalled,
};

/// Whether the plate may bow.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Bending {
    /// Held flat, as in a stack: bottom and top that dry apart stress the piece.
    #[default]
    HeldFlat,
    /// Free to bow.
    Free,
}

/// The crumb as a solid.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Crumb {
    /// Young's modulus E \[MPa\].
    pub modulus_mpa: f64,
    /// Poisson's ratio ν \[1\].
    pub poisson: f64,
    /// Expansion α \[1 per point of moisture, dry basis\].
    pub expansion_per_point: f64,
    /// Strength \[MPa\] at `strength_at_pct`.
    pub strength_mpa: f64,
    /// Relative change of the strength per point of moisture, dry basis \[1 per point\]; 0 for none, negative where
    /// water weakens.
    pub strength_per_point: f64,
    /// Moisture at which the strength is told \[%, dry basis\].
    pub strength_at_pct: f64,
    /// Time after which stress has fallen to 1/e at constant strain (Maxwell) \[s\]; none for an elastic crumb.
    pub relaxation_s: Option<f64>,
    /// Temperature under which the crumb is rigid \[°C\].
    pub setting_celsius: f64,
    /// Whether the piece may bow.
    pub bending: Bending,
    /// Fat per 100 of flour (or other dry meal); none leaves its part out.
    pub fat_per_100_flour: Option<f64>,
}

/// Water activity at which a biscuit has lost half its breaking force.
pub const SOFT_AT: Constant = Constant {
    name: "water activity at which half the breaking force is lost",
    value: 0.66,
    unit: "1",
    range: Range::new(0.3, 0.9),
    source: "curve through two gluten-free biscuits kept eight weeks at water activities of 0.40 to 0.65 (table seen)",
    grade: Grade::Computed,
};
/// Width of that loss.
pub const SOFT_OVER: Constant = Constant {
    name: "width of the loss of breaking force over water activity",
    value: 0.07,
    unit: "1",
    range: Range::new(0.02, 0.3),
    source: SOFT_AT.source,
    grade: Grade::Computed,
};

/// Share of the breaking force that is left at a water activity: 1/(1 + exp((a − a_c)/b)).
///
/// - Equation: s = 1/(1 + exp((a − a_c)/b)), a_c and b as in `SOFT_AT` and `SOFT_OVER`
/// - Units: water activity \[1\], share \[1\]
/// - Valid: a_w 0.40 to 0.65 of two gluten-free biscuits; beyond, the curve's own continuation
/// - Source: fitted here to breaking forces of two gluten-free biscuits, a printed table (seen)
///
/// ```
/// use baking::after::checking::brittle_share;
/// // 68.5 N of a dry gluten-free biscuit: 61.2 at 0.54, 47.3 at 0.60, 38.8 at 0.65 in print; the curve goes through two
/// // biscuits and misses this one by a twentieth.
/// for (a, newton) in [(0.54, 61.15), (0.60, 47.26), (0.65, 38.8)] {
///     assert!((68.5 * brittle_share(a) - newton).abs() < 0.05 * 68.5);
/// }
/// ```
pub fn brittle_share(water_activity: f64) -> f64 {
    1.0 / (1.0 + ((water_activity - SOFT_AT.value) / SOFT_OVER.value).exp())
}

/// Checking at a share of fat over that at the worst share: most at about 15 per 100 flour (Manley, as cited), less above
/// and below; the factors beside it are a judgement.
///
/// - Rule: straight lines between (0, 0.4), (5, 0.6), (12, 1), (18, 1), (25, 0.5) and (35, 0.2)
/// - Units: fat \[kg per 100 kg flour\], factor \[1\]
/// - Valid: 0 to 35; level beyond
/// - Source: the place of the worst, about 15, from a handbook of biscuits as cited (seen at second hand); the
///   heights are a judgement, no source
///
/// ```
/// use baking::after::checking::fat_factor;
/// assert_eq!(fat_factor(15.0), 1.0);
/// assert!(fat_factor(5.0) < fat_factor(12.0) && fat_factor(30.0) < fat_factor(20.0));
/// ```
pub fn fat_factor(per_100_flour: f64) -> f64 {
    /// Fat and factor.
    ///
    /// - Units: fat \[kg per 100 kg flour\], factor \[1\]
    /// - Source: the place of the worst from a handbook of biscuits, as cited (seen at second hand); heights by
    ///   judgement, no source
    const POINTS: [(f64, f64); 6] = [
        (0.0, 0.4),
        (5.0, 0.6),
        (12.0, 1.0),
        (18.0, 1.0),
        (25.0, 0.5),
        (35.0, 0.2),
    ];
    let x = per_100_flour.clamp(0.0, 35.0);
    let after = POINTS.partition_point(|p| p.0 <= x).clamp(1, 5);
    let ((x0, y0), (x1, y1)) = (POINTS[after - 1], POINTS[after]);
    y0 + (y1 - y0) * (x - x0) / (x1 - x0)
}

/// Checking in a draught over that in still air: print says that cold draughts raise it and slow cooling lowers it; how much
/// is a judgement. The profile alone says the other way, since moving air also evens the surface with the room: what it
/// leaves out is the strain of uneven heat in a crumb that sets suddenly.
///
/// - Equation: f = √(h/h_still), held between 0.7 and 2.5
/// - Units: heat transfer at the top \[W/(m² K)\], factor \[1\]
/// - Valid: 1 to 100 W/(m² K)
/// - Source: that cold draughts raise checking is in print (seen at second hand); the square root is a judgement,
///   no source
///
/// ```
/// use baking::after::checking::draught_factor;
/// assert_eq!(draught_factor(10.0), 1.0);
/// assert!((draught_factor(40.0) - 2.0).abs() < 1e-12);
/// ```
pub fn draught_factor(top_w_per_m2_k: f64) -> f64 {
    (top_w_per_m2_k / crate::oven::cooling::STILL_AIR.value)
        .max(0.1)
        .sqrt()
        .clamp(0.7, 2.5)
}

impl Default for Crumb {
    /// The named constants: elastic, held flat, strength the same at every moisture (as seen for crackers between 1.5
    /// and 4 % moisture).
    fn default() -> Self {
        Self {
            modulus_mpa: MODULUS.value,
            poisson: POISSON.value,
            expansion_per_point: EXPANSION.value,
            strength_mpa: STRENGTH.value,
            strength_per_point: 0.0,
            strength_at_pct: 6.0,
            relaxation_s: None,
            setting_celsius: SETTING_CELSIUS.value,
            bending: Bending::HeldFlat,
            fat_per_100_flour: None,
        }
    }
}

/// The index by place and time.
#[derive(Clone, Debug, PartialEq)]
pub struct Checking {
    /// Hours since the oven's exit.
    pub hours: Vec<f64>,
    /// Tension over strength \[1\], a row for each time, from bottom to top; negative under pressure.
    pub index: Vec<Vec<f64>>,
    /// Greatest index \[1\].
    pub greatest: f64,
    /// Hours since the oven's exit at which it is reached, or within one hundredth of it.
    pub at_hours: f64,
    /// Height over the band at which it is reached \[m\].
    pub at_height_m: f64,
    /// Stress there \[MPa\].
    pub stress_mpa: f64,
    /// Hours since the oven's exit at which the crumb set; none when it is still soft at the end.
    pub set_hours: Option<f64>,
    /// The constants it stands on.
    pub given: Vec<Given>,
}

/// Free-plate stress \[MPa\] from the change of moisture since the stress-free state \[points, dry basis\] at evenly
/// spaced nodes from surface to surface.
///
/// Check: a parabola with its middle one point wetter than its surfaces, α 0.006 per point, E 100 MPa, ν 0.3, gives
/// 0.571 MPa tension at the surfaces and 0.286 MPa pressure in the middle (computed).
///
/// - Equation: σ = E α/(1 − ν) · (mean of ΔM + bow − ΔM), the bow a straight line that takes the moment away when
///   the plate is free
/// - Units: ΔM \[points, dry basis\], E \[MPa\], α \[1 per point\], ν \[1\], stress \[MPa\], tension positive
/// - Valid: elastic, ΔM under a few points, at least three nodes
/// - Source: closed form of a free elastic plate with a parabola: ±(2/3, 1/3) E α ΔM/(1 − ν), an identity worked
///   out apart
///
/// ```
/// use baking::after::checking::{Crumb, plate_stress_mpa};
/// let crumb = Crumb { expansion_per_point: 0.006, modulus_mpa: 100.0, poisson: 0.3, ..Crumb::default() };
/// let change: Vec<f64> = (0..=400).map(|i| { let x = f64::from(i) / 200.0 - 1.0; 1.0 - x * x }).collect();
/// let stress = plate_stress_mpa(&change, &crumb);
/// assert!((stress[0] - 0.5714).abs() < 1e-4 && (stress[200] + 0.2857).abs() < 1e-4);
/// ```
pub fn plate_stress_mpa(change_points: &[f64], crumb: &Crumb) -> Vec<f64> {
    let n = change_points.len();
    let height = |i: usize| 2.0 * i as f64 / (n - 1) as f64 - 1.0;
    let level = mean(change_points);
    // The bow is the straight line that takes the moment away: 3 times the mean of ΔM·z for z from −1 to 1.
    let slope = match crumb.bending {
        Bending::HeldFlat => 0.0,
        Bending::Free => {
            let moment: Vec<f64> = change_points
                .iter()
                .enumerate()
                .map(|(i, m)| m * height(i))
                .collect();
            let squares: Vec<f64> = (0..n).map(|i| height(i) * height(i)).collect();
            mean(&moment) / mean(&squares)
        }
    };
    let stiffness = crumb.modulus_mpa * crumb.expansion_per_point / (1.0 - crumb.poisson);
    change_points
        .iter()
        .enumerate()
        .map(|(i, m)| stiffness * (level + slope * height(i) - m))
        .collect()
}

/// The checking index of a piece from the oven's exit on.
///
/// The crumb is free of stress until its mean temperature falls through `setting_celsius`, then stress builds up
/// with every change of moisture, and relaxes where a time is given.
pub fn checking(course: &Course, crumb: &Crumb) -> Checking {
    let profiles = &course.profiles;
    let n = profiles[0].moisture.len();
    let soft = |p: &Profile| celsius(mean(&p.temperature_k)) > crumb.setting_celsius;
    let last_soft = profiles.iter().rposition(soft);
    let (set_s, mut before) = match last_soft {
        // Between two profiles the moisture at setting is taken by the temperature.
        Some(i) if i + 1 < profiles.len() => {
            let (a, b) = (&profiles[i], &profiles[i + 1]);
            let (ta, tb) = (
                celsius(mean(&a.temperature_k)),
                celsius(mean(&b.temperature_k)),
            );
            let share = ((ta - crumb.setting_celsius) / (ta - tb)).clamp(0.0, 1.0);
            let at_setting: Vec<f64> = a
                .moisture
                .iter()
                .zip(&b.moisture)
                .map(|(x, y)| x + share * (y - x))
                .collect();
            (Some(a.time_s + share * (b.time_s - a.time_s)), at_setting)
        }
        Some(_) => (None, profiles[profiles.len() - 1].moisture.clone()),
        None => (Some(course.exit_s), profiles[0].moisture.clone()),
    };
    let factor = crumb.fat_per_100_flour.map_or(1.0, fat_factor)
        * course.draught_w_per_m2_k.map_or(1.0, draught_factor);
    let isotherm = course.isotherm.as_ref();
    let brittle =
        |x: f64| isotherm.map_or(1.0, |i| brittle_share(i.water_activity(x, ROOM_CELSIUS)));
    let mut stress = vec![0.0; n];
    let mut time_s = set_s.unwrap_or(f64::INFINITY);
    let mut index = Vec::with_capacity(profiles.len());
    for p in profiles {
        if p.time_s <= time_s {
            index.push(vec![0.0; n]);
            continue;
        }
        let change: Vec<f64> = p
            .moisture
            .iter()
            .zip(&before)
            .map(|(x, y)| 100.0 * (x - y))
            .collect();
        let gained = plate_stress_mpa(&change, crumb);
        let (kept, taken) = crumb.relaxation_s.map_or((1.0, 1.0), |tau| {
            let h = (p.time_s - time_s) / tau;
            ((-h).exp(), -(-h).exp_m1() / h)
        });
        for (s, g) in stress.iter_mut().zip(gained) {
            *s = kept * *s + taken * g;
        }
        before.clone_from(&p.moisture);
        time_s = p.time_s;
        index.push(
            stress
                .iter()
                .zip(&p.moisture)
                .map(|(s, x)| s / strength_mpa(crumb, DryBasis(*x)) * brittle(*x) * factor)
                .collect(),
        );
    }
    let hours: Vec<f64> = profiles
        .iter()
        .map(|p| (p.time_s - course.exit_s) / measure::units::HOUR_S)
        .collect();
    let worst = |row: &Vec<f64>| {
        row.iter()
            .copied()
            .enumerate()
            .fold((0, 0.0), |a, b| if b.1 > a.1 { b } else { a })
    };
    let greatest = index.iter().map(|row| worst(row).1).fold(0.0, f64::max);
    let row = index
        .iter()
        .position(|row| worst(row).1 >= 0.99 * greatest)
        .unwrap_or(0);
    let (node, value) = worst(&index[row]);
    Checking {
        at_hours: hours[row],
        at_height_m: course.thickness_m * node as f64 / (n - 1) as f64,
        stress_mpa: {
            let x = profiles[row].moisture[node];
            value * strength_mpa(crumb, DryBasis(x)) / (factor * brittle(x))
        },
        hours,
        index,
        greatest,
        set_hours: set_s.map(|s| (s - course.exit_s) / measure::units::HOUR_S),
        given: crumb.given(isotherm.is_some()),
    }
}

/// Strength \[MPa\] at a moisture: the told one, changed in proportion, never under a tenth of it.
pub(crate) fn strength_mpa(crumb: &Crumb, moisture: DryBasis) -> f64 {
    let off = 100.0 * moisture.0 - crumb.strength_at_pct;
    crumb.strength_mpa * (1.0 + crumb.strength_per_point * off).max(0.1)
}

impl Crumb {
    /// The numbers, those that are the program's own with their source; with those of the softening where it counts.
    pub fn given(&self, softens: bool) -> Vec<Given> {
        let own = [
            (&MODULUS, self.modulus_mpa),
            (&POISSON, self.poisson),
            (&EXPANSION, self.expansion_per_point),
            (&STRENGTH, self.strength_mpa),
            (&SETTING_CELSIUS, self.setting_celsius),
        ];
        let soft = [(&SOFT_AT, SOFT_AT.value), (&SOFT_OVER, SOFT_OVER.value)];
        own.into_iter()
            .chain(soft.into_iter().filter(|_| softens))
            .map(|(constant, value)| {
                let mut given = constant.used();
                if value != constant.value {
                    given.value = Some(value);
                    given.source = measure::Source::fixed(Grade::Measured, "your own setting");
                }
                given
            })
            .collect()
    }

    /// Looks at every number.
    ///
    /// # Errors
    /// The first one outside what is allowed.
    pub fn check(&self) -> Result<(), crate::bake::InputError> {
        let rows = [
            ("modulus", self.modulus_mpa, MODULUS.range),
            ("Poisson's ratio", self.poisson, POISSON.range),
            (
                "expansion per point",
                self.expansion_per_point,
                EXPANSION.range,
            ),
            ("strength", self.strength_mpa, STRENGTH.range),
            (
                "strength change per point",
                self.strength_per_point,
                Range::new(-0.5, 0.5),
            ),
            (
                "moisture of the strength",
                self.strength_at_pct,
                Range::new(0.0, 30.0),
            ),
            (
                "relaxation time",
                self.relaxation_s.unwrap_or(1.0),
                Range::new(1.0, 1e9),
            ),
            (
                "setting temperature",
                self.setting_celsius,
                SETTING_CELSIUS.range,
            ),
        ];
        for (field, value, range) in rows {
            if !range.contains(value) {
                return Err(crate::bake::InputError::new(
                    field,
                    value,
                    range.to_string(),
                ));
            }
        }
        Ok(())
    }
}
