//! Thirty published pairs about water moving in baked goods, against the law and numbers that the bake takes, and those it
//! took before. `docs/model/transport.md` is made from the list.

use crate::check::{Check, Grounds, Kind, Limit, Part};
use baking::bake::case::Benchmark;
use baking::bake::surface::GAS_CONSTANT;
use baking::bake::{
    Accuracy, Ask, AskedTimes, BakeInput, Isotherm, LiquidDiffusivity, SaturationPressure, Stage,
    StageKind, VapourTransport, Workspace, bake, bake_simple,
};
use baking::properties::TransportSettings;
use baking::properties::water::saturation_pressure_pa;
use measure::DryBasis;
use measure::temperature::{celsius, kelvin};
use measure::units::HOUR_S;
use std::fmt::Write as _;

/// How a number was had.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Mark {
    /// Printed.
    Seen,
    /// Printed, used with an assumption that is told.
    Read,
}
use Mark::{Read, Seen};

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Band {
    Mesh,
    Steel,
}

/// What a pair tells.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Told {
    /// Diffusivity at θ and X.
    Level(f64, f64),
    /// Over another at θ, between two X.
    Ratio(f64, f64, f64),
    /// Activation energy \[kJ/mol\] at X between two θ.
    Energy(f64, f64, f64),
    /// Centre of a bake \[°C\].
    Plateau(Band),
    /// Half-time \[h\] of the slow mode of evening-out.
    EveningHalf,
    /// Half-time \[h\] of uptake from the room.
    UptakeHalf,
}
use Told::{Energy, EveningHalf, Level, Plateau, Ratio, UptakeHalf};

struct Pair {
    id: &'static str,
    what: &'static str,
    told: Told,
    observed: f64,
    /// Of the logarithm, or of the value for energies and temperatures.
    sd: f64,
    mark: Mark,
    /// Dry solid of the product \[kg/m³\], from memory.
    dry_solid: f64,
    /// Whether it is an unbroken solid, through which no vapour goes.
    unbroken: bool,
    source: &'static str,
}

#[expect(clippy::too_many_arguments, reason = "a row of the table")]
const fn pair(
    id: &'static str,
    what: &'static str,
    told: Told,
    observed: f64,
    sd: f64,
    mark: Mark,
    dry_solid: f64,
    unbroken: bool,
    source: &'static str,
) -> Pair {
    Pair {
        id,
        what,
        told,
        observed,
        sd,
        mark,
        dry_solid,
        unbroken,
        source,
    }
}

#[rustfmt::skip] // a table reads best as a table
const PAIRS: [Pair; 30] = [
    pair("pair-pasta-level", "pasta: diffusivity at 60 °C and X 0.3, m²/s", Level(60.0, 0.3), 2.55e-11, 0.3, Seen, 1250.0, true, "Litchfield and Okos 1992 2.64e-11, Xiong et al. 1991 2.47e-11, both as coded in an open repository"),
    pair("pair-pasta-14", "pasta: diffusivity at X 0.14 over that at X 0.3, 60 °C", Ratio(60.0, 0.14, 0.3), 0.93, 0.15, Seen, 1250.0, true, "the same two laws, 0.88 and 0.99"),
    pair("pair-pasta-10", "pasta: diffusivity at X 0.1 over that at X 0.3, 60 °C", Ratio(60.0, 0.1, 0.3), 0.475, 0.6, Seen, 1250.0, true, "the same, 0.24 and 0.94"),
    pair("pair-pasta-06", "pasta: diffusivity at X 0.06 over that at X 0.3, 60 °C", Ratio(60.0, 0.06, 0.3), 0.137, 0.5, Seen, 1250.0, true, "the same, 0.10 and 0.18"),
    pair("pair-pasta-03", "pasta: diffusivity at X 0.03 over that at X 0.3, 60 °C", Ratio(60.0, 0.03, 0.3), 0.04, 1.0, Seen, 1250.0, true, "the same, 0.063 and below 0.001"),
    pair("pair-pasta-energy", "pasta: activation energy at X 0.3, 40 to 105 °C, kJ/mol", Energy(0.3, 40.0, 105.0), 24.7, 3.0, Seen, 1250.0, true, "26.2 (Litchfield and Okos), 21.8 (Xiong), 25.9 (Litchfield and Okos 1986)"),
    pair("pair-pasta-hot", "pasta: diffusivity at 105 °C and X 0.3, m²/s", Level(105.0, 0.3), 8.5e-11, 0.35, Seen, 1250.0, true, "Waananen, thesis abstract, Purdue AAI9018923"),
    pair("pair-corn-dry", "corn: diffusivity at 10 °C and X 0.04, m²/s", Level(10.0, 0.04), 1e-12, 0.7, Seen, 1150.0, true, "Jangam and Mujumdar, table 1.6, low end"),
    pair("pair-corn-wet", "corn: diffusivity at 90 °C and X 0.4, m²/s", Level(90.0, 0.4), 1e-10, 0.5, Seen, 1150.0, true, "the same table, high end"),
    pair("pair-cracker-level", "cracker: diffusivity at 90 °C and X 0.14, m²/s", Level(90.0, 0.14), 1.8e-09, 0.3, Seen, 450.0, false, "Kim and Okos 1999, abstract, top of the range"),
    pair("pair-cracker-dry", "cracker: diffusivity at 40 °C and X 0.03, m²/s", Level(40.0, 0.03), 1.4e-11, 1.2, Read, 450.0, false, "the same, bottom; printed 1.4e-4, the exponent −11 inferred"),
    pair("pair-cracker-08", "cracker: diffusivity at X 0.08 over that at X 0.14, 65 °C", Ratio(65.0, 0.08, 0.14), 0.8, 0.25, Read, 450.0, false, "the same: “change little at high moistures”"),
    pair("pair-cracker-03", "cracker: diffusivity at X 0.03 over that at X 0.1, 65 °C", Ratio(65.0, 0.03, 0.1), 0.25, 0.7, Read, 450.0, false, "the same: “decrease sharply below 6 %”"),
    pair("pair-biscuit-level", "baking-powder biscuit: diffusivity at 20 °C and X 0.1, m²/s", Level(20.0, 0.1), 9e-10, 0.25, Seen, 350.0, false, "8.6e-10 in table 1.6; Tong and Lund 1990, abstract"),
    pair("pair-biscuit-hot", "baking-powder biscuit: diffusivity at 80 °C and X 0.3, m²/s", Level(80.0, 0.3), 3.46375e-08, 1.0, Read, 350.0, false, "from its activation energy of 51 kJ/mol and its range to 9.4e-8"),
    pair("pair-biscuit-energy", "baking-powder biscuit: activation energy at X 0.2, 20 to 80 °C, kJ/mol", Energy(0.2, 20.0, 80.0), 51.0, 8.0, Seen, 350.0, false, "Tong and Lund 1990, abstract"),
    pair("pair-bread-level", "bread: diffusivity at 20 °C and X 0.1, m²/s", Level(20.0, 0.1), 2.7e-09, 0.3, Seen, 180.0, false, "2.8e-9 in table 1.6; the abstract's exponent is garbled"),
    pair("pair-bread-energy", "bread: activation energy at X 0.2, 20 to 80 °C, kJ/mol", Energy(0.2, 20.0, 80.0), 51.0, 8.0, Seen, 180.0, false, "Tong and Lund 1990, abstract"),
    pair("pair-muffin-level", "muffin: diffusivity at 20 °C and X 0.1, m²/s", Level(20.0, 0.1), 8.5e-10, 0.3, Seen, 250.0, false, "8.5e-10 in table 1.6"),
    pair("pair-muffin-energy", "muffin: activation energy at X 0.2, 20 to 80 °C, kJ/mol", Energy(0.2, 20.0, 80.0), 55.0, 8.0, Seen, 250.0, false, "Tong and Lund 1990, abstract"),
    pair("pair-sponge-level", "sponge cake: diffusivity at 20 °C and X 0.15, m²/s", Level(20.0, 0.15), 1.9e-10, 0.9, Seen, 250.0, false, "0.5 to 7.5e-10, Guillard et al. 2003, abstract"),
    pair("pair-pellet-level", "feed pellet: diffusivity at 45 °C and X 0.14, m²/s", Level(45.0, 0.14), 9e-10, 0.7, Read, 1050.0, false, "1.86e-10 to 2.75e-9 and 3.32e-10 to 3.87e-9, Wang et al. 2024, abstract; temperature of the air not seen"),
    pair("pair-pellet-energy", "feed pellet: activation energy at X 0.14, 30 to 70 °C, kJ/mol", Energy(0.14, 30.0, 70.0), 26.1, 4.0, Seen, 1050.0, false, "26.42 and 25.86, the same"),
    pair("pair-feed-wet", "animal feed: diffusivity at 25 °C and X 0.15, m²/s", Level(25.0, 0.15), 2.8e-09, 0.8, Read, 700.0, false, "table 1.6, its range over 0.01 to 0.15 read as rising with moisture"),
    pair("pair-feed-dry", "animal feed: diffusivity at 25 °C and X 0.015, m²/s", Level(25.0, 0.015), 1.8e-11, 0.9, Read, 700.0, false, "the same"),
    pair("pair-starch-level", "starch: diffusivity at 60 °C and X 0.3, m²/s", Level(60.0, 0.3), 3e-10, 0.8, Read, 900.0, false, "0.3 to 30e-10 over 25 to 140 °C, Karathanos et al. 1991, abstract"),
    pair("pair-plateau-mesh", "centre of an 8 mm piece on mesh while it dries, °C", Plateau(Band::Mesh), 99.5, 2.0, Seen, 850.0, false, "English muffin 99, buns about 100, evaporation front at 100 (abstracts)"),
    pair("pair-plateau-steel", "centre of an 8 mm piece on a steel band, °C", Plateau(Band::Steel), 99.5, 2.0, Seen, 850.0, false, "the same"),
    pair("pair-evening-half", "half-time of the slow evening-out of 6 mm at X 0.03 and 22 °C, h", EveningHalf, 5.0, 0.8, Read, 850.0, false, "cracks after 8 to 48 h, about 24 h, up to a few hours (trade pages): half-time taken as a third to a half of that"),
    pair("pair-uptake-half", "half-time of the uptake of 6 mm from 2 % in air of 65 %, h", UptakeHalf, 12.0, 0.8, Read, 850.0, false, "strain still gathering after 48 h (Saleem 2003, abstract)"),
];

/// The laws of water's way.
#[derive(Clone, Copy, Debug)]
struct Laws {
    liquid: LiquidDiffusivity,
    vapour: VapourTransport,
}

/// What the bake takes unless told otherwise.
fn today() -> Laws {
    let t = TransportSettings::default().resolve(&mut Vec::new());
    Laws {
        liquid: LiquidDiffusivity {
            d0_m2_per_s: t.liquid_diffusivity_m2_per_s,
            activation_j_per_mol: t.activation_j_per_mol,
            reference_k: t.reference_k,
            moisture_exponent: t.moisture_exponent,
            dry_end: baking::bake::DryEnd::of(t.dry_moisture, t.dry_power),
        },
        vapour: VapourTransport {
            porosity_over_tortuosity: t.porosity_over_tortuosity,
            permeability_m2: t.permeability_m2,
            knudsen_m2_per_s: t.knudsen_m2_per_s,
            smoothing: t.smoothing,
        },
    }
}

/// What it took before.
fn before() -> Laws {
    let closures = Benchmark::SteelBand.case().input.closures;
    Laws {
        liquid: closures.liquid,
        vapour: closures.vapour,
    }
}

/// Diffusivity of all water \[m²/s\] at θ \[°C\] and X: the liquid, and vapour along the gradient of moisture at constant
/// temperature, with the isotherm of the reference cases.
fn all_water(laws: &Laws, dry_solid: f64, celsius: f64, x: f64) -> f64 {
    let oswin = Isotherm::oswin(2.28, 0.38, 0.0056);
    let t = kelvin(celsius);
    let p_sat = SaturationPressure::SIMPLE.pascal(t);
    let p = oswin.water_activity(x, celsius) * p_sat;
    let vapour = laws.vapour.kg_per_m_s_pa(p, t) * oswin.slope(x, celsius) * p_sat / dry_solid;
    laws.liquid.m2_per_s(x, t) + vapour
}

/// The reference piece with a law, on a band.
fn piece(laws: &Laws, band: Band) -> BakeInput {
    let mut input = Benchmark::SteelBand.case().input;
    input.closures.liquid = laws.liquid;
    input.closures.vapour = laws.vapour;
    if band == Band::Mesh {
        for stage in input.stages.iter_mut().take(3) {
            stage.band_open = 0.5;
            stage.bottom_w_per_m2_k = 40.0;
        }
    }
    input
}

/// Hours until half of the uptake from air of 65 % and 22 °C.
fn uptake_half_h(laws: &Laws) -> f64 {
    let mut input = piece(laws, Band::Steel);
    let room = kelvin(22.0);
    input.thickness_m = 0.006;
    input.initial_moisture = DryBasis(0.02 / 0.98);
    input.initial_temperature_k = room;
    input.accuracy = Accuracy::Tight;
    input.stages = vec![Stage {
        name: "room".into(),
        kind: StageKind::Cooling,
        duration_s: 20.0 * 24.0 * HOUR_S,
        air_k: room,
        radiating_k: room,
        band_k: room,
        air_vapour_pa: 0.65 * saturation_pressure_pa(room),
        top_w_per_m2_k: 10.0,
        bottom_w_per_m2_k: 10.0,
        band_open: 1.0,
        vapour_exchange: 1.0,
    }];
    let ask = Ask {
        history: AskedTimes::EveryStep,
        ..Ask::default()
    };
    let h = bake(&input, &ask, &mut Workspace::new())
        .expect("the piece can be followed")
        .history;
    let end = h.mean_moisture.last().copied().unwrap_or(f64::NAN);
    let half = 0.5 * (h.mean_moisture[0] + end);
    let after = h.mean_moisture.iter().position(|x| *x >= half);
    after.filter(|i| *i > 0).map_or(f64::NAN, |i| {
        let (a, b) = (h.mean_moisture[i - 1], h.mean_moisture[i]);
        (h.time_s[i - 1] + (half - a) / (b - a) * (h.time_s[i] - h.time_s[i - 1])) / HOUR_S
    })
}

impl Pair {
    /// What a law says. `vapour` leaves the vapour of unbroken solids in.
    fn by(&self, laws: &Laws, vapour: bool) -> f64 {
        let mut laws = *laws;
        if self.unbroken && !vapour {
            laws.vapour.porosity_over_tortuosity = 0.0;
        }
        let d = |celsius, x| all_water(&laws, self.dry_solid, celsius, x);
        match self.told {
            Level(celsius, x) => d(celsius, x),
            Ratio(celsius, x, over) => d(celsius, x) / d(celsius, over),
            Energy(x, from, to) => {
                let gap = 1.0 / kelvin(from) - 1.0 / kelvin(to);
                1e-3 * GAS_CONSTANT * (d(to, x) / d(from, x)).ln() / gap
            }
            Plateau(band) => {
                let baked = bake_simple(&piece(&laws, band)).expect("the reference piece bakes");
                celsius(baked.centre_peak_k)
            }
            EveningHalf => 0.017_56 * 0.006 * 0.006 / d(22.0, 0.03) / HOUR_S,
            UptakeHalf => uptake_half_h(&laws),
        }
    }

    /// How far a value is from print, in spreads: that of the row, and that between products where a level or an
    /// energy of another product is asked.
    fn deviation(&self, value: f64) -> f64 {
        let between: f64 = match (self.told, self.unbroken) {
            (Level(..), true) => 2.0,
            (Level(..), false) => 1.0,
            (Energy(..), _) => 7.0,
            (Ratio(..) | Plateau(_) | EveningHalf | UptakeHalf, _) => 0.0,
        };
        let gap = match self.told {
            Energy(..) | Plateau(_) => value - self.observed,
            Level(..) | Ratio(..) | EveningHalf | UptakeHalf => (value / self.observed).ln(),
        };
        gap / self.sd.hypot(between)
    }

    /// Why it is known to miss.
    fn outside(&self) -> Option<&'static str> {
        match self.id {
            "pair-cracker-08" => Some(
                "the numbers of a dense biscuit with a cracker's light solid leave it more vapour than it has; its own path fits",
            ),
            "pair-biscuit-hot" | "pair-bread-level" | "pair-muffin-energy" => Some(
                "aerated goods: their open pores carry ten to twenty times the vapour of a dense piece, and the law is told with the pores of a dense one",
            ),
            "pair-feed-wet" => {
                Some("one end of a 155-fold printed range, read as wet; a loose bed of meal")
            }
            _ => None,
        }
    }
}

fn today_deviation<const I: usize>() -> f64 {
    let pair = &PAIRS[I];
    pair.deviation(pair.by(&today(), false))
}

/// One row for each pair.
pub(crate) fn rows() -> Vec<Check> {
    #[rustfmt::skip]
    let runs: [fn() -> f64; 30] = [
        today_deviation::<0>, today_deviation::<1>, today_deviation::<2>, today_deviation::<3>, today_deviation::<4>,
        today_deviation::<5>, today_deviation::<6>, today_deviation::<7>, today_deviation::<8>, today_deviation::<9>,
        today_deviation::<10>, today_deviation::<11>, today_deviation::<12>, today_deviation::<13>, today_deviation::<14>,
        today_deviation::<15>, today_deviation::<16>, today_deviation::<17>, today_deviation::<18>, today_deviation::<19>,
        today_deviation::<20>, today_deviation::<21>, today_deviation::<22>, today_deviation::<23>, today_deviation::<24>,
        today_deviation::<25>, today_deviation::<26>, today_deviation::<27>, today_deviation::<28>, today_deviation::<29>,
    ];
    PAIRS
        .iter()
        .zip(runs)
        .map(|(pair, run)| Check {
            id: pair.id,
            part: Part::Transport,
            // The law was fitted to these very pairs: they show how well it fits, not that it holds.
            kind: Kind::Fit,
            requirement: pair.what,
            source: pair.source,
            grounds: Grounds::Published,
            metric: "deviation from print, which it was fitted to, in spreads of the row and between products",
            limit: Limit::AtMost(2.0),
            outside: pair.outside(),
            run,
        })
        .collect()
}

/// Every pair of a check file: its name, what today's law was worked out to say, how far apart they may be, and what it
/// says here. Pairs follow each other as in the list.
pub(crate) fn pairs_answered(
    part: &serde_json::Value,
) -> Vec<(String, f64, f64, Result<f64, String>)> {
    let laws = today();
    let rows = part.as_array().into_iter().flatten().enumerate();
    rows.map(|(i, row)| {
        let id = row["id"].as_str().unwrap_or_default().to_owned();
        let wanted = row["after_recommended_as_typed"]
            .as_f64()
            .unwrap_or(f64::NAN);
        let known = PAIRS.get(i).filter(|pair| {
            let observed = row["observed"].as_f64().unwrap_or(f64::NAN);
            (pair.observed / observed - 1.0).abs() < 1e-5
        });
        let got = known
            .map(|pair| pair.by(&laws, false))
            .ok_or_else(|| format!("nothing here knows the pair {id}"));
        // Bakes of our own geometry within 2 %, what is worked out from the laws alone within a thousandth.
        let share = match known.map(|p| p.told) {
            Some(Plateau(_) | UptakeHalf) => 0.02,
            _ => 1e-3,
        };
        (id, wanted, share * wanted.abs(), got)
    })
    .collect()
}

/// The page about the law.
pub fn page() -> String {
    let mut page = String::from(HEAD);
    let (now, then) = (today(), before());
    let number = |pair: &Pair, v: f64| match pair.told {
        Level(..) => format!("{v:.1e}"),
        Ratio(..) => format!("{v:.2}"),
        Energy(..) | Plateau(_) => format!("{v:.1}"),
        EveningHalf | UptakeHalf => format!("{v:.2}"),
    };
    let mut met = [0, 0];
    for pair in &PAIRS {
        let (old, new) = (pair.by(&then, true), pair.by(&now, false));
        let off = [old, new].map(|v| pair.deviation(v));
        for (met, off) in met.iter_mut().zip(off) {
            *met += usize::from(off.abs() <= 2.0);
        }
        let mark = match pair.mark {
            Seen => "seen",
            Read => "read",
        };
        let _ = writeln!(
            page,
            "| {} | {mark} | {} | {} ({:+.1}) | {} ({:+.1}) | {} |",
            pair.what,
            number(pair, pair.observed),
            number(pair, old),
            off[0],
            number(pair, new),
            off[1],
            pair.source
        );
    }
    let _ = writeln!(
        page,
        "\nWithin two spreads: {} of 30 before, {} of 30 now.\n",
        met[0], met[1]
    );
    page.push_str(FOOT);
    page
}

const HEAD: &str = "# How water moves through the piece

D_l = D₀ exp(−E/R (1/T − 1/T_ref) + b X) · [1 − exp(−(X/X_c)^n)], with D₀ 6·10⁻¹⁰ m²/s at 60 °C, E 31 kJ/mol, b 0, X_c 0.10 \
kg/kg, n 2.8; porosity over tortuosity 0.010, permeability 10⁻¹³ m². Fitted at once to thirty published pairs about pasta, \
corn, crackers, biscuits, bread, cake, feed and starch; none is a dog biscuit, and nothing here was measured on one. The \
last factor is the dry end: below about 10 % on dry solid the liquid is held, and what still moves goes as vapour. Without \
it (a constant D) the misfit of the thirty is three times as large; exp(b X) alone leaves more than twice as much.

What changed, and why: porosity over tortuosity was 0.1, ten times too high; it alone put the centre at 90 to 94 °C and \
evened a packed piece out in half an hour, where cracks come after hours to two days. The 51 kJ/mol printed for aerated goods \
aren't the liquid's: there vapour carries most of the water, and the balances have the vapour on their own.

A study may write its own numbers (`water_moves` of the dough); a case file gives X_c and n as `Xc` and `nX` (left out: no dry end).

## Every pair, before and now

*Before*: D₀ 3·10⁻¹⁰, E 25, no dry end, porosity over tortuosity 0.1, permeability 5·10⁻¹⁴. *Now*: as above. Both are \
told with the density of the product only, so levels of other products needn't agree; ratios and energies should. In \
brackets the deviation in spreads: the row's own and, for levels and energies, that between products (a factor of 2.7 \
between relatives, 7.4 for unbroken pasta and corn, 7 kJ/mol). *Seen*: printed; *read*: printed, used with an assumption \
that is told. Pasta and corn have no vapour in *now*.

| pair | mark | print | before | now | source |
|---|---|---|---|---|---|
";

const FOOT: &str = "## What isn't met

- **A core below 15 %** at a mean of 10 %: water gets about 1.3 mm far in 15 min at 100 °C, so the model's core is at 24 % \
on dry solid (95 %: 16 to 28). No measured profile of any biscuit was found; technologists expect 17 to 18 %. One sliced \
biscuit, core and surfaces dried apart, decides more than all of this.
- **Aerated goods**: their vapour paths are ten to twenty times those of a dense piece; their energies of 51 to 128 kJ/mol \
can't be had from vapour in balance with the crumb (41 at most).
- **Thin crackers** bake about twice too fast: they puff and part into layers, which isn't in the model.
- **The last points of moisture** cost 18 to 23 % of the time from 8 to 3 %; the trade expects more.

## How sure

Standard deviations: ln D₀ 0.95, E 8.5 kJ/mol, ln φ/τ 0.65, ln κ 1.4, ln X_c 0.2, ln n 0.25; correlations X_c–n −0.5, D₀–E \
+0.2. Permeability is only bounded from below (2·10⁻¹⁴). By transport alone the bake time of the demonstration's control \
spreads by about −16 to +5 %.

Made by the tests from the list itself; don't edit.
";
