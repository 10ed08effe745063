//! What may grow at a water activity, for how long a cake stays free of mould, and what acids do about it.

use crate::Code;
use measure::{Constant, Finding, Grade, Range, Severity, Source};
use serde::Serialize;

/// A lower limit of growth.
#[derive(Clone, Debug, PartialEq)]
pub struct GrowthLimit {
    /// What grows.
    pub what: &'static str,
    /// Water activity below which it doesn't, least and most of the values printed.
    pub water_activity: (f64, f64),
    /// Where that comes from.
    pub source: Source,
}

const fn limit(what: &'static str, low: f64, high: f64, source: Source) -> GrowthLimit {
    GrowthLimit {
        what,
        water_activity: (low, high),
        source,
    }
}

const BANDS: Source = Source::fixed(
    Grade::Published,
    "bands after Beuchat 1981, as reprinted (seen)",
);
const FDA: Source = Source::fixed(
    Grade::Published,
    "FDA, Bad Bug Book, least water activities (seen)",
);
const FDA_OLDER: Source = Source::fixed(
    Grade::Published,
    "the higher: FDA, Bad Bug Book (seen); the lower: older bands, as reprinted",
);
const GOCK: Source = Source::fixed(
    Grade::Published,
    "Gock et al. 2003, abstract (seen): 0.70 at 30 °C, 0.74 at 25 °C for Eurotium; 0.82 at 25 °C, 0.86 at 30 °C for \
     Penicillium roqueforti; all grew faster in acid than in neutral surroundings",
);
const PITT: Source = Source::fixed(Grade::Published, "Pitt and Christian 1968, as cited (seen)");

/// The table, from wet to dry. Nothing here says that what doesn't grow dies: *Salmonella* survives in dry biscuits
/// for months.
pub const GROWTH_LIMITS: [GrowthLimit; 14] = [
    limit("Clostridium botulinum E", 0.965, 0.965, FDA),
    limit("Bacillus cereus", 0.95, 0.95, FDA),
    limit("Salmonella", 0.91, 0.945, FDA_OLDER),
    limit("Escherichia coli", 0.935, 0.935, FDA),
    limit("Clostridium botulinum A, B", 0.93, 0.93, FDA),
    limit("Listeria monocytogenes", 0.92, 0.92, FDA),
    limit("many yeasts", 0.87, 0.91, BANDS),
    limit("Penicillium roqueforti", 0.82, 0.86, GOCK),
    limit("Staphylococcus aureus", 0.83, 0.86, FDA_OLDER),
    limit("mycotoxin-forming aspergilli", 0.75, 0.80, BANDS),
    limit("Eurotium repens", 0.70, 0.74, GOCK),
    limit("moulds that like it dry", 0.65, 0.69, BANDS),
    limit(
        "yeasts that like sugar, Xeromyces bisporus",
        0.60,
        0.605,
        PITT,
    ),
    limit("nothing grows below", 0.60, 0.60, BANDS),
];

/// Above this, in a closed pack and not acid, a food or feed is held to rules of its own in the US.
pub const REGULATORY: Constant = Constant {
    name: "water activity above which a closed pack that isn't acid has rules of its own",
    value: 0.85,
    unit: "1",
    range: Range::new(0.80, 0.90),
    source: "US rules for acidified and low-acid canned food, 0.85 (from memory, to be confirmed)",
    grade: Grade::Recalled,
};

/// What may grow, as a band of water activity.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Band {
    /// Below 0.60.
    Nothing,
    /// 0.60 to 0.65.
    FewYeasts,
    /// 0.65 to 0.70.
    DryMouldsSlowly,
    /// 0.70 to 0.80.
    DryMoulds,
    /// 0.80 to 0.86.
    MouldsAndStaphylococci,
    /// Above 0.86.
    Bacteria,
}

impl Band {
    /// Every band, from dry to wet.
    pub const ALL: [Self; 6] = [
        Self::Nothing,
        Self::FewYeasts,
        Self::DryMouldsSlowly,
        Self::DryMoulds,
        Self::MouldsAndStaphylococci,
        Self::Bacteria,
    ];

    /// Water activity at which it begins.
    ///
    /// - Rule: the lower end of each band
    /// - Units: a_w \[1\]
    /// - Valid: every band
    /// - Source: Beuchat 1981, as reprinted (seen)
    ///
    /// ```
    /// use baking::after::growth::Band;
    /// assert_eq!((Band::Nothing.from(), Band::FewYeasts.from(), Band::MouldsAndStaphylococci.from()), (0.0, 0.60, 0.80));
    /// ```
    pub const fn from(self) -> f64 {
        match self {
            Self::Nothing => 0.0,
            Self::FewYeasts => 0.60,
            Self::DryMouldsSlowly => 0.65,
            Self::DryMoulds => 0.70,
            Self::MouldsAndStaphylococci => 0.80,
            Self::Bacteria => 0.86,
        }
    }

    /// The band of a water activity.
    ///
    /// ```
    /// use baking::after::growth::Band;
    /// assert_eq!(Band::of(0.599), Band::Nothing);
    /// assert_eq!(Band::of(0.60), Band::FewYeasts);
    /// assert_eq!(Band::of(0.93), Band::Bacteria);
    /// ```
    pub fn of(water_activity: f64) -> Self {
        let mut wettest = Self::Nothing;
        for band in Self::ALL {
            if water_activity >= band.from() {
                wettest = band;
            }
        }
        wettest
    }

    /// What grows there, and how fast.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Nothing => "nothing grows",
            Self::FewYeasts => "a few yeasts that like sugar and one mould may grow, over months",
            Self::DryMouldsSlowly => "moulds that like it dry may grow, slowly",
            Self::DryMoulds => "moulds that like it dry grow, in weeks to months",
            Self::MouldsAndStaphylococci => {
                "most moulds grow within weeks, and Staphylococcus aureus may"
            }
            Self::Bacteria => "moulds grow within days, and bacteria that make ill may",
        }
    }
}

/// What to make of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// Dry enough.
    Fine,
    /// Look before going on.
    Warn,
    /// Don't sell it like this.
    Stop,
}

impl Verdict {
    /// Every verdict.
    pub const ALL: [Self; 3] = [Self::Fine, Self::Warn, Self::Stop];

    /// The word shown to people.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Fine => "fine",
            Self::Warn => "warn",
            Self::Stop => "stop",
        }
    }
}

/// What is known of acids and preservatives in the piece.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Preserved {
    /// None is in it.
    #[default]
    None,
    /// One is in it, and its effect isn't known: no measured pH, or too high a one.
    Unknown,
    /// It makes the time free of mould this many times as long.
    Times(f64),
}

/// Undissociated acid in the water of the piece under which nothing is credited \[kg/kg\].
pub const LEAST_ACID: Constant = Constant {
    name: "least undissociated acid that is credited",
    value: 1e-4,
    unit: "kg per kg water",
    range: Range::new(0.0, 1e-3),
    source: "a working rule, no source",
    grade: Grade::Assumed,
};
/// Undissociated acid that doubles the time free of mould \[kg/kg\].
pub const DOUBLING_ACID: Constant = Constant {
    name: "undissociated acid that doubles the time free of mould",
    value: 2e-4,
    unit: "kg per kg water",
    range: Range::new(1e-4, 1e-3),
    source: "a working rule, no source",
    grade: Grade::Assumed,
};
/// Most that acids make of the time free of mould.
pub const MOST_TIMES: Constant = Constant {
    name: "most that acids make of the time free of mould",
    value: 4.0,
    unit: "1",
    range: Range::new(1.0, 10.0),
    source: "a working rule, no source",
    grade: Grade::Assumed,
};

impl Preserved {
    /// What undissociated acid in the water of the piece \[kg/kg\] does: times 1 + u/u₂, at most four; too little of it
    /// is as good as unknown. A working rule, assumed.
    ///
    /// - Equation: times = min(1 + u/u₂, 4); unknown below the least
    /// - Units: u \[kg undissociated acid per kg water\], times \[1\]
    /// - Valid: the pH up to which the acid is credited; a working rule, not tested
    /// - Source: assumed, no source; after doses in print that delayed moulds in bakery goods
    ///
    /// ```
    /// use baking::after::growth::Preserved;
    /// assert_eq!(Preserved::by(0.5e-4), Preserved::Unknown);
    /// assert_eq!(Preserved::by(4e-4), Preserved::Times(3.0));
    /// assert_eq!(Preserved::by(1e-2), Preserved::Times(4.0));
    /// ```
    pub fn by(undissociated_kg_per_kg_water: f64) -> Self {
        if undissociated_kg_per_kg_water < LEAST_ACID.value {
            return Self::Unknown;
        }
        let times = 1.0 + undissociated_kg_per_kg_water / DOUBLING_ACID.value;
        Self::Times(times.min(MOST_TIMES.value))
    }
}

/// Water activities over which the clock was printed.
pub const CLOCK_WATER_ACTIVITY: Range = Range::new(0.74, 0.90);
/// Temperatures between which the clock is read \[°C\].
pub const CLOCK_CELSIUS: Range = Range::new(21.0, 27.0);

/// Days until a cake of a water activity shows mould at a temperature \[°C\]; `None` outside what was printed.
///
/// log₁₀ d = 7.91 − 8.1 a_w at 21 °C and 6.42 − 6.47 a_w at 27 °C (Cauvain and Seiler, cakes, as reprinted), between
/// them evenly in the logarithm. Right within a factor of two at best: it depends on the spores that reach the piece.
///
/// - Equation: log₁₀ d = 7.91 − 8.1 a_w at 21 °C, 6.42 − 6.47 a_w at 27 °C, straight between
/// - Units: a_w \[1\], temperature \[°C\], time \[d\]
/// - Valid: a_w 0.74 to 0.90 and 21 to 27 °C; within a factor of two
/// - Source: Cauvain and Seiler, cakes, as reprinted in a textbook (seen at second hand)
///
/// ```
/// use baking::after::growth::mould_free_days;
/// assert!((mould_free_days(0.80, 21.0).unwrap() - 26.9).abs() < 0.1);
/// assert!((mould_free_days(0.80, 27.0).unwrap() - 17.5).abs() < 0.1);
/// assert_eq!(mould_free_days(0.70, 21.0), None);
/// assert_eq!(mould_free_days(0.93, 21.0), None);
/// ```
pub fn mould_free_days(water_activity: f64, celsius: f64) -> Option<f64> {
    if !(CLOCK_WATER_ACTIVITY.contains(water_activity) && CLOCK_CELSIUS.contains(celsius)) {
        return None;
    }
    let (cool, warm) = (7.91 - 8.1 * water_activity, 6.42 - 6.47 * water_activity);
    let share = (celsius - CLOCK_CELSIUS.low) / (CLOCK_CELSIUS.high - CLOCK_CELSIUS.low);
    Some(10f64.powf(cool + share * (warm - cool)))
}

/// Where a pack stands.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Growth {
    /// Water activity of the piece once evened out \[1\].
    pub packed: f64,
    /// Water activity at the end of its time in the pack \[1\]; none when the pack can't be followed.
    pub end: Option<f64>,
    /// Water activity of its wettest place when packed \[1\].
    pub wettest: f64,
    /// Whether these are the upper ones of bounds that what dissolves leaves.
    pub upper: bool,
    /// Days that the wettest place stays in a wetter band than the evened-out piece; none when it isn't.
    pub wet_days: Option<f64>,
    /// Temperature of the store \[°C\].
    pub store_c: f64,
    /// Acids and preservatives.
    pub preserved: Preserved,
}

impl Growth {
    /// Days free of mould once evened out, with what preserves; `None` where print has no clock.
    ///
    /// - Equation: times of what preserves × days of the clock
    /// - Units: times in \[d\]
    /// - Valid: as the clock: a_w 0.74 to 0.90 and 21 to 27 °C
    /// - Source: as the free function `mould_free_days`
    ///
    /// ```
    /// use baking::after::{Growth, growth::Preserved};
    /// let cake = Growth {
    ///     packed: 0.80, end: None, wettest: 0.80, upper: false, wet_days: None, store_c: 21.0,
    ///     preserved: Preserved::Times(2.0),
    /// };
    /// // 26.9 days by the printed line at 21 °C, twice.
    /// assert!((cake.mould_free_days().unwrap() - 2.0 * 26.9).abs() < 0.2);
    /// ```
    pub fn mould_free_days(&self) -> Option<f64> {
        let times = match self.preserved {
            Preserved::Times(times) => times,
            Preserved::None | Preserved::Unknown => 1.0,
        };
        mould_free_days(self.wetter(), self.store_c).map(|days| times * days)
    }

    /// The water activity that is judged: the wetter of the evened-out piece as packed and at its wettest in the pack.
    ///
    /// A leaking pack ends at the humidity of its store, so that the driest band is no news there: what ends below 0.65
    /// counts as packed.
    ///
    /// - Rule: the greater of both, where the end lies above 0.65; else as packed
    /// - Units: a_w \[1\]
    /// - Valid: 0 to 1
    /// - Source: house rule, no source
    ///
    /// ```
    /// use baking::after::{Growth, growth::Preserved};
    /// let pack = |packed, end| Growth {
    ///     packed, end: Some(end), wettest: packed, upper: false, wet_days: None, store_c: 21.0, preserved: Preserved::None,
    /// };
    /// assert_eq!((pack(0.50, 0.62).wetter(), pack(0.50, 0.70).wetter(), pack(0.75, 0.70).wetter()), (0.50, 0.70, 0.75));
    /// ```
    pub fn wetter(&self) -> f64 {
        match self.end {
            Some(end) if Band::of(end).from() > Band::FewYeasts.from() => end.max(self.packed),
            _ => self.packed,
        }
    }

    /// How bad the wettest place is: from 0.80 on it may grow mould or worse before it has evened out.
    ///
    /// The clock's last water activity and its warmest temperature give the most days that print leaves a place that is
    /// wetter or warmer; a cooler store has no clock.
    fn wet_place(&self) -> Option<Severity> {
        let wet = Band::of(self.wettest);
        if wet.from() <= Band::of(self.packed).from() {
            return None;
        }
        if wet.from() < Band::MouldsAndStaphylococci.from() {
            return Some(Severity::Note);
        }
        let celsius = self.store_c.min(CLOCK_CELSIUS.high);
        let clock = mould_free_days(self.wettest.min(CLOCK_WATER_ACTIVITY.high), celsius);
        let too_long = match (self.wet_days, clock) {
            (None, _) => true,
            (Some(wet), Some(clock)) => wet > clock,
            (Some(_), None) => false,
        };
        Some(if too_long {
            Severity::Stop
        } else {
            Severity::Warn
        })
    }

    /// The verdict on the piece in its pack: evened out, and at its wettest place where that stays wet for longer than a
    /// cake stays free of mould.
    ///
    /// ```
    /// use baking::after::growth::{Growth, Preserved, Verdict};
    /// let pack = |end, wet_days| Growth {
    ///     packed: 0.55, end, wettest: 0.88, upper: false, wet_days, store_c: 22.0, preserved: Preserved::None,
    /// };
    /// assert_eq!(pack(None, Some(3.0)).verdict(), Verdict::Fine);
    /// assert_eq!(pack(None, Some(30.0)).verdict(), Verdict::Stop);
    /// assert_eq!(pack(None, None).verdict(), Verdict::Stop);
    /// assert_eq!(pack(Some(0.72), Some(3.0)).verdict(), Verdict::Stop);
    /// ```
    pub fn verdict(&self) -> Verdict {
        if self.wet_place() == Some(Severity::Stop) {
            return Verdict::Stop;
        }
        self.even_verdict()
    }

    fn in_words(&self, water_activity: f64) -> String {
        if self.upper {
            format!("up to {water_activity:.2}, the upper bound that what dissolves leaves")
        } else {
            format!("{water_activity:.2}")
        }
    }

    fn even_verdict(&self) -> Verdict {
        match Band::of(self.wetter()) {
            Band::Nothing => Verdict::Fine,
            Band::FewYeasts | Band::DryMouldsSlowly => Verdict::Warn,
            Band::DryMoulds => match self.preserved {
                Preserved::Times(_) => Verdict::Warn,
                Preserved::None | Preserved::Unknown => Verdict::Stop,
            },
            Band::MouldsAndStaphylococci | Band::Bacteria => Verdict::Stop,
        }
    }

    /// What a person should know.
    ///
    /// ```
    /// use baking::after::growth::{Growth, Preserved};
    /// let pack = |packed, wettest, wet_days| Growth {
    ///     packed, end: None, wettest, upper: false, wet_days, store_c: 22.0, preserved: Preserved::None,
    /// };
    /// assert_eq!(pack(0.93, 0.93, None).findings()[0].code, baking::Code::GrowsInThePack);
    /// assert!(pack(0.45, 0.55, None).findings().is_empty());
    /// assert_eq!(pack(0.55, 0.88, Some(3.0)).findings()[0].code, baking::Code::WetPlaceInThePack);
    /// // A number that isn't the one on the sheet is told as what it is.
    /// let bounded = Growth { upper: true, ..pack(0.79, 0.79, None) };
    /// assert!(bounded.findings()[0].message.contains("of up to 0.79, the upper bound"));
    /// ```
    pub fn findings(&self) -> Vec<Finding> {
        let source = "least water activities of growth (sources beside the table); clock of cakes after Cauvain and \
                      Seiler, as reprinted";
        let mut findings = Vec::new();
        let severity = match self.even_verdict() {
            Verdict::Fine => None,
            Verdict::Warn => Some(Severity::Warn),
            Verdict::Stop => Some(Severity::Stop),
        };
        if let Some(severity) = severity {
            let clock = match self.mould_free_days() {
                Some(days) => format!(
                    "A cake like this shows mould after about {days:.0} days at {:.0} °C, within a factor of two.",
                    self.store_c
                ),
                None => format!(
                    "How many days that takes isn't known: print has a clock for {} only, at {} °C.",
                    CLOCK_WATER_ACTIVITY, CLOCK_CELSIUS
                ),
            };
            let acid = match self.preserved {
                Preserved::None => "",
                Preserved::Unknown => {
                    " A preservative is in it, but its effect isn't known without a measured pH under 6."
                }
                Preserved::Times(_) => " The acid in it is counted in.",
            };
            let rule = if self.wetter() > REGULATORY.value {
                " Above 0.85 other rules hold in many places: heat in the closed pack, acid, or a cold chain."
            } else {
                ""
            };
            let when = if self.wetter() > self.packed {
                "At the end of its time in the pack it has a water activity of"
            } else {
                "Packed at a water activity of"
            };
            findings.push(
                Finding::new(
                    severity,
                    Code::GrowsInThePack,
                    "bake.cooled_water_activity",
                    format!(
                        "{when} {}: {}. {clock}{acid}{rule}",
                        self.in_words(self.wetter()),
                        Band::of(self.wetter()).words()
                    ),
                )
                .help(if self.wetter() > self.packed {
                    "a tighter film or a drier piece: nothing grows below 0.60; or plan preservative, measured pH and oxygen with a process authority"
                } else {
                    "dry it below 0.60, where nothing grows, or plan preservative, measured pH and oxygen with a process authority"
                })
                .source(source),
            );
        }
        if let Some(severity) = self.wet_place() {
            let wet = Band::of(self.wettest);
            let lasts = self.wet_days.map_or_else(
                || "for longer than was followed".to_owned(),
                |days| format!("for about {days:.1} days"),
            );
            findings.push(
                Finding::new(
                    severity,
                    Code::WetPlaceInThePack,
                    "bake.cooled_water_activity",
                    format!(
                        "The wettest place has a water activity of {} when packed and stays wetter than the evened-out \
                         piece's band {lasts}: there {}.",
                        self.in_words(self.wettest),
                        wet.words()
                    ),
                )
                .help("even out warm before packing, bake or dry longer, or make the piece thinner")
                .source(source),
            );
        }
        findings
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Printed days at 21 °C against relative humidity, and the same law at 27 °C worked out apart.
    #[test]
    fn clock_is_the_printed_one() {
        let cool = [
            (0.74, 82.0),
            (0.75, 68.0),
            (0.76, 57.0),
            (0.77, 47.0),
            (0.78, 39.0),
            (0.79, 32.0),
            (0.80, 27.0),
        ];
        for (a, days) in cool {
            assert!(
                (mould_free_days(a, 21.0).unwrap() - days).abs() < 1.0,
                "{a}"
            );
        }
        for (a, days) in [(0.75, 36.9), (0.80, 17.5), (0.85, 8.3), (0.90, 4.0)] {
            assert!(
                (mould_free_days(a, 27.0).unwrap() - days).abs() < 0.1,
                "{a}"
            );
        }
    }

    #[test]
    fn bands_follow_each_other_and_verdicts_never_fall() {
        let mut before = Verdict::Fine;
        for i in 0..=100 {
            let pack = Growth {
                packed: f64::from(i) / 100.0,
                end: None,
                wettest: f64::from(i) / 100.0,
                upper: false,
                wet_days: None,
                store_c: 22.0,
                preserved: Preserved::None,
            };
            assert!(pack.verdict() >= before);
            before = pack.verdict();
        }
        assert_eq!(before, Verdict::Stop);
    }
}
