//! Whether a raw dough holds together: gluten, gelled starch, gum and binders against fat.
//!
//! A judgement with numbers until counts teach better: what a material adds is told as kg of gluten
//! that would do the same, per kg.

use crate::Code;
use crate::composition::Nutrient;
use crate::formula::Formula;
use crate::water::Forming;
use measure::{Constant, Finding, Grade, Range, Severity};
use serde::Serialize;

const fn judged(name: &'static str, value: f64) -> Constant {
    Constant {
        name,
        value,
        unit: "kg gluten per kg dry mix",
        range: Range::new(0.0, 0.2),
        source: "judgement: soft wheat flour of 6 to 7 % gluten sheets well, flours without gluten don't",
        grade: Grade::Assumed,
    }
}

/// Below this a sheet breaks up.
pub static SHEET_LEAST: Constant = judged("least hold of a sheeted dough", 0.010);
/// From this on a sheet holds.
pub static SHEET_ENOUGH: Constant = judged("enough hold of a sheeted dough", 0.035);
/// Below this a moulded or extruded piece falls apart.
pub static MOULDED_LEAST: Constant = judged("least hold of a moulded or extruded dough", 0.005);
/// From this on a moulded or extruded piece holds.
pub static MOULDED_ENOUGH: Constant = judged("enough hold of a moulded or extruded dough", 0.012);
/// Up to this, fat left aside, nothing binds: flours without gluten bring no more.
pub static NOTHING_BINDS: Constant = Constant {
    name: "hold at which nothing binds a dough",
    value: 0.006,
    unit: "kg gluten per kg dry mix",
    range: Range::new(0.0, 0.01),
    source: "judgement: flours of rice, maize and sorghum alone don't make a sheet",
    grade: Grade::Assumed,
};
/// Share of fat in the dry mix at which nothing holds any more; in between in proportion.
pub static FAT_UNDOES: Constant = Constant {
    name: "fat that undoes the hold of a dough",
    value: 0.50,
    unit: "kg per kg dry mix",
    range: Range::new(0.2, 1.0),
    source: "judgement: short doughs of a quarter fat are weak, pastes of half fat flow",
    grade: Grade::Assumed,
};

/// Whether it holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// It doesn't.
    FallsApart,
    /// It may.
    Weak,
    /// It does.
    Holds,
}

/// What holds a dough together.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Hold {
    /// The hold, kg of gluten that would do the same per kg dry mix, fat taken off.
    pub gluten_equivalent: f64,
    /// Fat of the dry mix, kg/kg; at least, where a material's isn't known.
    pub fat: f64,
    /// How the pieces are formed.
    pub forming: Forming,
    /// The verdict.
    pub verdict: Verdict,
    /// What brings it, the most first: name and kg of gluten per kg dry mix.
    pub parts: Vec<(String, f64)>,
    /// Materials whose hold isn't known; counted as nothing.
    pub unknown: Vec<String>,
}

/// The hold of a formula's dough, whatever water it has.
///
/// h = (1 − fat/0.50) Σ h_i m_i / dry mix, not below 0.
///
/// ```
/// use formula::{Forming, Formula, Line, hold::{Verdict, hold}, shelf};
/// let alone = |id| Formula::new(vec![Line::new(shelf::find(id).unwrap(), 1.0)]).unwrap();
/// assert_eq!(hold(&alone("wheat_flour_soft"), Forming::Sheeted).verdict, Verdict::Holds);
/// assert_eq!(hold(&alone("corn_starch"), Forming::Sheeted).verdict, Verdict::FallsApart);
/// assert_eq!(hold(&alone("meat_bone_meal"), Forming::RotaryMoulded).verdict, Verdict::FallsApart);
/// ```
pub fn hold(formula: &Formula, forming: Forming) -> Hold {
    let dry_mix = formula.dry_mix();
    let per_mix = |kg: f64| if dry_mix > 0.0 { kg / dry_mix } else { 0.0 };
    let mut parts = Vec::new();
    let mut unknown = Vec::new();
    for line in formula.lines().iter().filter(|l| l.parts > 0.0) {
        match &line.material.holding {
            Some(v) if v.fraction > 0.0 => {
                parts.push((line.material.name.clone(), per_mix(line.parts * v.fraction)));
            }
            Some(_) => {}
            None => unknown.push(line.material.name.clone()),
        }
    }
    parts.sort_by(|a, b| b.1.total_cmp(&a.1));
    let fat = per_mix(formula.mass_of(Nutrient::CrudeFat).at_least);
    let gluten_equivalent =
        (1.0 - fat / FAT_UNDOES.value).max(0.0) * parts.iter().map(|(_, h)| h).sum::<f64>();
    let (least, enough) = match forming {
        Forming::Sheeted => (&SHEET_LEAST, &SHEET_ENOUGH),
        Forming::RotaryMoulded | Forming::WireCut => (&MOULDED_LEAST, &MOULDED_ENOUGH),
    };
    let verdict = if gluten_equivalent < least.value {
        Verdict::FallsApart
    } else if gluten_equivalent < enough.value {
        Verdict::Weak
    } else {
        Verdict::Holds
    };
    Hold {
        gluten_equivalent,
        fat,
        forming,
        verdict,
        parts,
        unknown,
    }
}

impl Hold {
    /// Whether something in it binds at all, fat left aside: gluten, gelled starch, gum, egg, gelatin,
    /// plasma, mucilage, or a flour that is sticky itself.
    pub fn binds(&self) -> bool {
        self.parts.iter().map(|(_, h)| h).sum::<f64>() > NOTHING_BINDS.value
    }

    /// Tells a dough that falls apart or may.
    ///
    /// It stops only a sheet that nothing binds: what is pressed or extruded holds by its fat and
    /// water too, and where something binds the numbers are too rough to forbid it.
    ///
    /// ```
    /// use formula::{Forming, Formula, Line, hold::hold, shelf};
    /// let finding = |id, forming| {
    ///     let dough = Formula::new(vec![Line::new(shelf::find(id).unwrap(), 1.0)]).unwrap();
    ///     hold(&dough, forming).finding().map(|f| f.severity)
    /// };
    /// use measure::Severity::{Stop, Warn};
    /// assert_eq!(finding("rice_flour_white", Forming::Sheeted), Some(Stop));
    /// assert_eq!(finding("rice_flour_white", Forming::RotaryMoulded), Some(Warn));
    /// assert_eq!(finding("wheat_flour_soft", Forming::Sheeted), None);
    /// ```
    pub fn finding(&self) -> Option<Finding> {
        let forms = match self.forming {
            Forming::Sheeted => "hold a sheet",
            Forming::RotaryMoulded => "hold in the die and come out whole",
            Forming::WireCut => "hold together behind the nozzle",
        };
        let by = match self.parts.first() {
            None => String::from("nothing in it holds it together"),
            Some((name, _)) => format!(
                "what holds it together, {name} first, does as much as {:.1} % gluten{}",
                100.0 * self.gluten_equivalent,
                if self.fat > 0.15 {
                    format!(", and {:.0} % fat weakens it", 100.0 * self.fat)
                } else {
                    String::new()
                }
            ),
        };
        let unknown = if self.unknown.is_empty() {
            String::new()
        } else {
            format!(" What {} adds isn't known.", self.unknown.join(", "))
        };
        // What isn't known may hold it after all, and so may what is pressed.
        let (severity, code, word) = match self.verdict {
            Verdict::Holds => return None,
            Verdict::Weak => (Severity::Warn, Code::DoughHoldsWeakly, "may not"),
            Verdict::FallsApart
                if self.forming == Forming::Sheeted && !self.binds() && self.unknown.is_empty() =>
            {
                (Severity::Stop, Code::DoughFallsApart, "won't")
            }
            Verdict::FallsApart => (Severity::Warn, Code::DoughFallsApart, "probably won't"),
        };
        Some(
            Finding::new(
                severity,
                code,
                "dough.hold",
                format!("This dough {word} {forms}: {by}.{unknown}"),
            )
            .help("Add wheat or its gluten, egg, plasma, gelatin, gelled starch (potato flakes), a gum or ground flaxseed; lower the fat; or make a small trial dough and see.")
            .source("judgement from gluten, gelled starch, binders and fat (assumed), until counts of whole pieces teach better"),
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::formula::Line;
    use crate::shelf;

    fn of(lines: &[(&str, f64)], forming: Forming) -> Hold {
        let lines = lines
            .iter()
            .map(|(id, parts)| Line::new(shelf::find(id).unwrap(), *parts))
            .collect();
        hold(&Formula::new(lines).unwrap(), forming)
    }

    /// Doughs of the trade that are known to form, and mixes that don't (common practice, no source).
    #[test]
    fn doughs_that_form_hold_and_powders_do_not() {
        use Forming::{RotaryMoulded, Sheeted};
        for (lines, forming, verdict) in [
            (&[("corn_starch", 1.0)][..], Sheeted, Verdict::FallsApart),
            (&[("meat_bone_meal", 1.0)], Sheeted, Verdict::FallsApart),
            (&[("chicken_meal", 1.0)], RotaryMoulded, Verdict::FallsApart),
            (&[("rice_flour_white", 1.0)], Sheeted, Verdict::FallsApart),
            (
                &[("rice_flour_white", 99.0), ("xanthan_gum", 1.0)],
                Sheeted,
                Verdict::Holds,
            ),
            (&[("oat_flour", 1.0)], Sheeted, Verdict::Weak),
            (
                &[("oat_flour", 60.0), ("pea_flour", 37.0), ("gelatin", 3.0)],
                Sheeted,
                Verdict::Holds,
            ),
            (&[("whole_wheat_flour", 1.0)], Sheeted, Verdict::Holds),
            (
                &[
                    ("wheat_flour_soft", 80.0),
                    ("chicken_meal", 15.0),
                    ("lard", 5.0),
                ],
                Sheeted,
                Verdict::Holds,
            ),
            (
                &[("wheat_flour_soft", 65.0), ("lard", 20.0), ("sugar", 15.0)],
                RotaryMoulded,
                Verdict::Holds,
            ),
            (
                &[("lard", 60.0), ("wheat_flour_soft", 40.0)],
                Sheeted,
                Verdict::FallsApart,
            ),
        ] {
            let hold = of(lines, forming);
            assert_eq!(
                hold.verdict, verdict,
                "{lines:?}: {:.4}",
                hold.gluten_equivalent
            );
        }
    }

    #[test]
    fn what_falls_apart_stops_and_what_is_not_known_is_told() {
        let stop = of(&[("corn_starch", 1.0)], Forming::Sheeted)
            .finding()
            .unwrap();
        assert_eq!(stop.severity, Severity::Stop);
        assert!(
            of(&[("wheat_flour_soft", 1.0)], Forming::Sheeted)
                .finding()
                .is_none()
        );
        let mut odd = (*shelf::find("corn_starch").unwrap()).clone();
        odd.name = String::from("Odd powder");
        odd.holding = None;
        let formula = Formula::new(vec![Line::new(odd.into(), 1.0)]).unwrap();
        let told = hold(&formula, Forming::Sheeted).finding().unwrap();
        assert_eq!(told.severity, Severity::Warn);
        assert!(told.message.contains("What Odd powder adds isn't known"));
    }

    /// Doughs that people make and bake (common practice, no source): told as doubtful at most.
    #[test]
    fn only_a_sheet_that_nothing_binds_is_stopped() {
        use Forming::{RotaryMoulded, Sheeted, WireCut};
        let told =
            |lines: &[(&str, f64)], forming| of(lines, forming).finding().map(|f| f.severity);
        for (lines, forming) in [
            // Rolled out at home.
            (&[("oat_flour", 60.0), ("peanut_butter", 40.0)][..], Sheeted),
            (&[("oat_flour", 45.0), ("peanut_butter", 55.0)], Sheeted),
            (&[("rice_flour_white", 1.0)], RotaryMoulded),
            (&[("rice_flour_white", 75.0), ("lard", 25.0)], RotaryMoulded),
            (&[("corn_starch", 80.0), ("lard", 20.0)], WireCut),
            (
                &[("oat_flour", 50.0), ("pea_flour", 49.0), ("gelatin", 1.0)],
                Sheeted,
            ),
            (&[("wheat_flour_soft", 50.0), ("lard", 50.0)], Sheeted),
        ] {
            assert!(
                told(lines, forming).is_none_or(|s| s <= Severity::Warn),
                "{lines:?}"
            );
        }
        for lines in [
            &[("rice_flour_white", 1.0)][..],
            &[("rice_flour_white", 80.0), ("lard", 20.0)],
            &[("corn_meal_whole", 60.0), ("chicken_meal", 40.0)],
        ] {
            assert_eq!(told(lines, Sheeted), Some(Severity::Stop), "{lines:?}");
        }
        // A spread of nuts binds a little.
        let butter = of(
            &[("peanut_butter", 10.0), ("rice_flour_white", 90.0)],
            Sheeted,
        );
        assert!(butter.binds());
    }

    #[test]
    fn a_mix_of_water_alone_is_no_dough() {
        let water = of(&[("water", 1.0)], Forming::Sheeted);
        assert_eq!(water.gluten_equivalent, 0.0);
        assert_eq!(water.verdict, Verdict::FallsApart);
    }
}
