//! From the oven's exit on: profiles through the thickness while the piece cools and evens out in its pack.

use crate::Code;
use crate::bake::isotherm::ROOM_CELSIUS;
use crate::bake::{
    Ask, BakeError, BakeInput, BakeResult, Isotherm, Profile, StageKind, Workspace, bake,
};
use measure::units::{DAY_S, HOUR_S};
use measure::{Constant, DryBasis, Finding, Grade, Range, Severity};

/// A bake from its exit on.
#[derive(Clone, Debug, PartialEq)]
pub struct Course {
    /// Time of the oven's exit since the start of the bake \[s\].
    pub exit_s: f64,
    /// Time at which the piece goes into its pack, since the start of the bake \[s\].
    pub packed_s: f64,
    /// Thickness \[m\].
    pub thickness_m: f64,
    /// Profiles from the oven's exit on, bottom to top; times since the start of the bake.
    pub profiles: Vec<Profile>,
    /// The whole bake.
    pub bake: BakeResult,
    /// Heat transfer at the top while it sets \[W/(m² K)\]: a draught is more than still air. None without a cooling.
    pub draught_w_per_m2_k: Option<f64>,
    /// The isotherm it was baked with; without one nothing is said of softening.
    pub isotherm: Option<Isotherm>,
}

/// Profiles while cooling.
const IN_COOLING: usize = 24;
/// Hours in the pack that have a profile; later ones daily.
///
/// - Units: \[h\]
/// - Source: chosen here
const IN_PACK_H: [f64; 13] = [
    0.25, 0.5, 1.0, 2.0, 3.0, 4.0, 6.0, 8.0, 12.0, 16.0, 24.0, 36.0, 48.0,
];

/// Times of the oven's exit and of the packing since the start of a bake \[s\].
fn exit_and_packing_s(input: &BakeInput) -> [f64; 2] {
    let total = |kind| -> f64 {
        let of_kind = input.stages.iter().filter(|s| s.kind == kind);
        of_kind.map(|s| s.duration_s).sum()
    };
    let exit_s = total(StageKind::Oven) + total(StageKind::Drying);
    [exit_s, exit_s + total(StageKind::Cooling)]
}

/// Times since the start of a bake whose profiles its course is told from \[s\]: the oven's exit, twenty-four while
/// cooling (closer at first) and 0.25, 0.5, 1, 2, 3, 4, 6, 8, 12, 16, 24, 36, 48 h and then every day in the pack.
///
/// - Rule: the oven's exit, 24 times while cooling with the square of their number, then the listed hours and every
///   day in the pack
/// - Units: times since the start of the bake \[s\]
/// - Valid: any bake; only the exit without cooling and pack
/// - Source: house choice, no source
///
/// ```
/// use baking::after::course_times_s;
/// use baking::bake::case::Benchmark;
/// let input = Benchmark::SteelBand.case().input;
/// let times = course_times_s(&input);
/// assert!((times[0] - input.oven_time_s()).abs() < 1e-9);
/// assert!(times.windows(2).all(|t| t[0] < t[1]));
/// ```
pub fn course_times_s(input: &BakeInput) -> Vec<f64> {
    let [exit_s, packed_s] = exit_and_packing_s(input);
    let cooling_s = packed_s - exit_s;
    let packs = input.stages.iter().filter(|s| s.kind == StageKind::Pack);
    let pack_s: f64 = packs.map(|s| s.duration_s).sum();
    let mut times = vec![exit_s];
    if cooling_s > 0.0 {
        times.extend(
            (1..=IN_COOLING).map(|i| exit_s + cooling_s * (i as f64 / IN_COOLING as f64).powi(2)),
        );
    }
    let days = (3..).map(|day| 24.0 * f64::from(day));
    let hours = IN_PACK_H.into_iter().chain(days);
    times.extend(
        hours
            .map(|h| h * HOUR_S)
            .take_while(|s| *s < pack_s * (1.0 - 1e-9))
            .map(|s| packed_s + s),
    );
    if pack_s > 0.0 {
        times.push(packed_s + pack_s);
    }
    times
}

/// Bakes, cools and packs, keeping the profiles at [`course_times_s`].
///
/// # Errors
/// As [`bake`].
pub fn course(input: &BakeInput, w: &mut Workspace) -> Result<Course, BakeError> {
    let ask = Ask {
        profile_times_s: course_times_s(input),
        ..Ask::default()
    };
    Ok(Course::of(input, bake(input, &ask, w)?))
}

/// Time \[s\] in which half of an unevenness between the middle and a surface held as it is passes off through a half
/// thickness \[m\] at a diffusivity \[m²/s\]: 0.19673 l²/D.
///
/// - Equation: t_½ = 0.19673 l²/D
/// - Units: l \[m\], D \[m²/s\], t \[s\]
/// - Valid: a flat profile at first, a surface held, D that doesn't change with moisture
/// - Source: series for a plane sheet (Crank, The Mathematics of Diffusion), computed: half of it is gone at Fo
///   0.19673
///
/// ```
/// use baking::after::evening::half_time_s;
/// // 4 mm at 1e-10 m²/s: 8.74 h (computed apart).
/// assert!((half_time_s(0.004, 1e-10) / 3600.0 - 8.74).abs() < 0.01);
/// ```
pub fn half_time_s(half_thickness_m: f64, diffusivity_m2_per_s: f64) -> f64 {
    0.196_73 * half_thickness_m * half_thickness_m / diffusivity_m2_per_s
}

/// Heat transfer at the top in the first stage of cooling \[W/(m² K)\].
///
/// - Rule: that of the first stage which is cooling
/// - Units: \[W/(m² K)\]
/// - Valid: any bake; none without a cooling
/// - Source: a look-up, nothing is reckoned
///
/// ```
/// use baking::after::evening::draught;
/// use baking::bake::{StageKind, case::Benchmark};
/// let mut input = Benchmark::SteelBand.case().input;
/// input.stages[0].kind = StageKind::Cooling;
/// input.stages[0].top_w_per_m2_k = 25.0;
/// assert_eq!(draught(&input), Some(25.0));
/// input.stages.retain(|s| s.kind != StageKind::Cooling);
/// assert_eq!(draught(&input), None);
/// ```
pub fn draught(input: &BakeInput) -> Option<f64> {
    let cooling = input.stages.iter().find(|s| s.kind == StageKind::Cooling);
    cooling.map(|s| s.top_w_per_m2_k)
}

/// Mean over the thickness of values at evenly spaced nodes, both surfaces included (trapezoid).
pub(super) fn mean(values: &[f64]) -> f64 {
    let n = values.len();
    (values.iter().sum::<f64>() - 0.5 * (values[0] + values[n - 1])) / (n - 1) as f64
}

impl Course {
    /// From a bake whose profiles were asked for at [`course_times_s`].
    pub fn of(input: &BakeInput, bake: BakeResult) -> Self {
        let [exit_s, packed_s] = exit_and_packing_s(input);
        Self {
            exit_s,
            packed_s,
            thickness_m: input.thickness_m,
            profiles: bake.profiles.clone(),
            bake,
            draught_w_per_m2_k: draught(input),
            isotherm: Some(input.closures.isotherm.clone()),
        }
    }

    /// The profile nearest to a time since the start of the bake \[s\].
    ///
    /// - Rule: the profile whose time is nearest; the earlier of two as near
    /// - Units: times since the start of the bake \[s\]
    /// - Valid: a course with a profile
    /// - Source: house rule, no source
    ///
    /// ```
    /// use baking::after::course;
    /// use baking::bake::{Workspace, case::Benchmark};
    /// let course = course(&Benchmark::SteelBand.case().input, &mut Workspace::new())?;
    /// assert_eq!(course.at(course.exit_s - 1e6).time_s, course.profiles[0].time_s);
    /// # Ok::<(), baking::bake::BakeError>(())
    /// ```
    pub fn at(&self, time_s: f64) -> &Profile {
        let gap = |p: &Profile| (p.time_s - time_s).abs();
        let mut nearest = &self.profiles[0];
        for p in &self.profiles {
            if gap(p) < gap(nearest) {
                nearest = p;
            }
        }
        nearest
    }

    /// Moisture of the wettest place less that of the driest \[percentage points, wet basis\].
    ///
    /// - Equation: wet(max X) − wet(min X), wet(X) = 100 X/(1 + X)
    /// - Units: X \[kg/kg dry solid\], result \[points, wet basis\]
    /// - Valid: a profile with a node
    /// - Source: definition
    ///
    /// ```
    /// use baking::{after::Course, bake::Profile};
    /// // 25 % and 20 % wet basis are X 1/3 and 1/4.
    /// let p = Profile { time_s: 0.0, moisture: vec![0.25, 1.0 / 3.0, 0.25], temperature_k: vec![300.0; 3] };
    /// assert!((Course::unevenness_points(&p) - 5.0).abs() < 1e-9);
    /// ```
    pub fn unevenness_points(profile: &Profile) -> f64 {
        let wet = |x: f64| DryBasis(x).to_wet().percent();
        let (low, high) = profile
            .moisture
            .iter()
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), x| {
                (l.min(*x), h.max(*x))
            });
        wet(high) - wet(low)
    }

    /// Moisture in the middle less the mean of both surfaces \[percentage points, wet basis\].
    ///
    /// - Equation: wet(X of the middle) − ½ (wet(X of the bottom) + wet(X of the top))
    /// - Units: X \[kg/kg dry solid\], result \[points, wet basis\]
    /// - Valid: an odd number of nodes, evenly spaced
    /// - Source: definition; what print tells of checking is told so
    ///
    /// ```
    /// use baking::{after::Course, bake::Profile};
    /// let p = Profile { time_s: 0.0, moisture: vec![0.25, 1.0 / 3.0, 0.25], temperature_k: vec![300.0; 3] };
    /// assert!((Course::centre_surface_points(&p) - 5.0).abs() < 1e-9);
    /// ```
    pub fn centre_surface_points(profile: &Profile) -> f64 {
        let wet = |x: f64| DryBasis(x).to_wet().percent();
        let x = &profile.moisture;
        wet(x[x.len() / 2]) - 0.5 * (wet(x[0]) + wet(x[x.len() - 1]))
    }

    /// Time in the pack \[s\] after which the unevenness stays below a share of what it was when packed; `None` when
    /// it isn't reached.
    ///
    /// - Rule: the first time in the pack with at most that share of the unevenness when packed, straight between
    ///   profiles
    /// - Units: share \[1\], time \[s\]
    /// - Valid: an unevenness above 0 when packed
    /// - Source: house rule, no source
    ///
    /// ```
    /// use baking::{after::course, bake::{Profile, Workspace, case::Benchmark}};
    /// let mut c = course(&Benchmark::SteelBand.case().input, &mut Workspace::new())?;
    /// let wet = |time_s, x| Profile { time_s, moisture: vec![0.25, x, 0.25], temperature_k: vec![300.0; 3] };
    /// c.packed_s = 0.0;
    /// // 5 points, 2.5 points an hour later.
    /// c.profiles = vec![wet(0.0, 1.0 / 3.0), wet(3600.0, 0.225 / 0.775)];
    /// assert!((c.evened_s(0.75).unwrap() - 1800.0).abs() < 1e-6);
    /// assert_eq!(c.evened_s(0.4), None);
    /// # Ok::<(), baking::bake::BakeError>(())
    /// ```
    pub fn evened_s(&self, share: f64) -> Option<f64> {
        let start = Self::unevenness_points(self.at(self.packed_s));
        let packed = self.profiles.iter().filter(|p| p.time_s >= self.packed_s);
        let mut before: Option<(f64, f64)> = None;
        for p in packed {
            let (t, u) = (p.time_s - self.packed_s, Self::unevenness_points(p) / start);
            if u <= share {
                return Some(before.map_or(t, |(t0, u0)| {
                    t0 + (t - t0) * (u0 - share) / (u0 - u).max(1e-300)
                }));
            }
            before = Some((t, u));
        }
        None
    }

    /// Greatest water activity over the thickness, by the isotherm at 25 °C.
    ///
    /// - Equation: a_w(max X, 25 °C)
    /// - Units: X \[kg/kg dry solid\], a_w \[1\]
    /// - Valid: as the isotherm
    /// - Source: definition
    ///
    /// ```
    /// use baking::{after::Course, bake::{Isotherm, Profile}};
    /// // Oswin with 10 % at a_w ½.
    /// let isotherm = Isotherm::oswin(10.0_f64.ln(), 0.5, 0.0);
    /// let p = Profile { time_s: 0.0, moisture: vec![0.05, 0.10, 0.05], temperature_k: vec![300.0; 3] };
    /// assert!((Course::wettest_activity(&p, &isotherm) - 0.5).abs() < 1e-9);
    /// ```
    pub fn wettest_activity(profile: &Profile, isotherm: &Isotherm) -> f64 {
        let wettest = profile.moisture.iter().copied().fold(0.0, f64::max);
        isotherm.water_activity(wettest, ROOM_CELSIUS)
    }

    /// Days in the pack \[d\] until the wettest place has come down to a water activity; `None` when it hasn't by the
    /// end of what was followed.
    ///
    /// - Rule: the first day in the pack at which the wettest place has come down to a water activity, straight
    ///   between profiles
    /// - Units: a_w \[1\], time \[d\]
    /// - Valid: a course with an isotherm
    /// - Source: house rule, no source
    ///
    /// ```
    /// use baking::{after::course, bake::{Isotherm, Profile, Workspace, case::Benchmark}};
    /// let mut c = course(&Benchmark::SteelBand.case().input, &mut Workspace::new())?;
    /// let wet = |days: f64, x| Profile { time_s: 86_400.0 * days, moisture: vec![x; 3], temperature_k: vec![300.0; 3] };
    /// (c.packed_s, c.isotherm) = (0.0, Some(Isotherm::oswin(10.0_f64.ln(), 0.5, 0.0)));
    /// // 0.8 at 20 % falls to 0.5 at 10 % in three days.
    /// c.profiles = vec![wet(0.0, 0.20), wet(3.0, 0.10)];
    /// assert!((c.wet_days(0.7).unwrap() - 1.0).abs() < 1e-9);
    /// assert_eq!(c.wet_days(0.4), None);
    /// # Ok::<(), baking::bake::BakeError>(())
    /// ```
    pub fn wet_days(&self, water_activity: f64) -> Option<f64> {
        let isotherm = self.isotherm.as_ref()?;
        let packed = self.profiles.iter().filter(|p| p.time_s >= self.packed_s);
        let mut before: Option<(f64, f64)> = None;
        for p in packed {
            let (t, a) = (
                (p.time_s - self.packed_s) / DAY_S,
                Self::wettest_activity(p, isotherm),
            );
            if a <= water_activity {
                return Some(before.map_or(t, |(t0, a0)| {
                    t0 + (t - t0) * (a0 - water_activity) / (a0 - a).max(1e-300)
                }));
            }
            before = Some((t, a));
        }
        None
    }

    /// What a person should know about the evening-out and the limits of the trade.
    pub fn findings(&self) -> Vec<Finding> {
        let packed = self.at(self.packed_s);
        let points = Self::centre_surface_points(packed);
        let moisture = DryBasis(mean(&packed.moisture)).to_wet().percent();
        let source =
            "after Dunn and Bailey 1928, Cereal Chem. 5:395, as cited on a trade page (seen)";
        let mut findings = vec![
            Finding::new(
                Severity::Note,
                Code::EveningOutMayBeSlower,
                "after.evening",
                "The evening-out is computed as water moving by diffusion with the moisture always in balance with the air \
                 in the pores; real crumb takes its time to give off and take up water, so the true evening-out is \
                 probably slower.",
            )
            .help("split pieces on several days, and dry surface and core apart")
            .source("model limit, no source"),
        ];
        if points.abs() >= LIMIT_POINTS.value {
            findings.push(
                Finding::new(
                    Severity::Warn,
                    Code::UnevenWhenPacked,
                    "after.checking",
                    format!(
                        "When packed the centre holds {:.1} points {} water than the surfaces; under \
                         {:.0} point is the traditional limit against checking.",
                        points.abs(),
                        if points < 0.0 { "less" } else { "more" },
                        LIMIT_POINTS.value,
                    ),
                )
                .help(if points < 0.0 {
                    "the hot middle gives its water to surfaces that cool first: a slower, covered cooling"
                } else {
                    "a gentler last zone, more damper there, a drying stage, thinner pieces, or a slow covered cooling"
                })
                .source(source),
            );
        }
        if !(USUAL_MEAN_PCT.0..=USUAL_MEAN_PCT.1).contains(&moisture) {
            findings.push(
                Finding::new(
                    Severity::Note,
                    Code::MeanMoistureOutsideTradition,
                    "after.checking",
                    format!(
                        "The mean moisture when packed is {moisture:.1} %; 2 to 3 % is the traditional target for \
                         sweet biscuits. Dense pet biscuits are usually packed wetter."
                    ),
                )
                .help("let water activity and bite decide for a dense biscuit")
                .source(source),
            );
        }
        findings
    }
}

/// Difference between centre and surface that the trade stays under \[percentage points\].
const LIMIT_POINTS: Constant = Constant {
    name: "difference between centre and surface that the trade stays under",
    value: 1.0,
    unit: "points, wet basis",
    range: Range::new(0.5, 3.0),
    source: "after Dunn and Bailey 1928, Cereal Chem. 5:395, as cited on a trade page (seen)",
    grade: Grade::Published,
};
/// Mean moisture that the trade aims at for sweet biscuits \[%\].
///
/// - Source: after Dunn and Bailey 1928, Cereal Chem. 5:395, as cited on a trade page (seen)
const USUAL_MEAN_PCT: (f64, f64) = (2.0, 3.0);
