//! One finished trial day of the invented bakery: every row drawn from a truth that is stated here, so that anyone can
//! see whether an analysis finds it again. Nothing of it was measured.

use crate::{Batch, Entry, What};
use trials::plan::{Blocks, Request};
use trials::random::SplitMix64;
use trials::response::Response;

/// The seed of the run order and of all that was drawn.
pub const SEED: u64 = 20_261_130;
/// What the trial is called; its lasting name comes from it.
pub const NAME: &str = "The bite without the wheat";
/// Lasting name of the trial.
pub const ID: &str = "bite";
/// What it wants to know.
pub const QUESTION: &str = "Is the bite as firm as the control’s when the wheat is left out?";
/// Good pieces wanted of each batch.
pub const PIECES: u32 = 60;
/// Share of the dough that is lost on the way.
pub const LOST: f64 = 0.05;
/// Pieces of each batch that are bent.
pub const BENT: u32 = 8;

/// What is true of a treatment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Truth {
    /// Its short name in the study.
    pub treatment: &'static str,
    /// Force at break, N.
    pub force_n: f64,
    /// Share of pieces that leave the cutter whole.
    pub whole: f64,
    /// Water that its dough needs beyond what the book believed, kg per 100 kg dry mix.
    pub water_off_kg: f64,
    /// Moisture at the end, %.
    pub moisture_pct: f64,
}

const fn truth(
    treatment: &'static str,
    force_n: f64,
    whole: f64,
    water_off_kg: f64,
    moisture_pct: f64,
) -> Truth {
    Truth {
        treatment,
        force_n,
        whole,
        water_off_kg,
        moisture_pct,
    }
}

/// The truth, control first: forces and moistures are those of the larger invented trial of the examples.
pub const TRUTHS: [Truth; 4] = [
    truth("control", 62.0, 0.96, 0.5, 8.0),
    truth("barley", 54.0, 0.93, 1.5, 8.1),
    truth("rice_chickpea", 46.0, 0.80, -0.5, 8.6),
    truth("rice_chickpea_egg", 60.0, 0.94, 0.0, 8.3),
];

/// Standard deviation of the force between parts of the day, between batches, between pieces, N.
pub const FORCE_SD_N: (f64, f64, f64) = (2.0, 3.0, 7.0);
/// Standard deviation of one titration, kg per 100 kg dry mix.
pub const WATER_SD_KG: f64 = 0.5;
/// Standard deviation of the moisture between batches, %.
pub const MOISTURE_SD_PCT: f64 = 0.2;

/// Share of its mass that a piece still has after so many minutes in the invented oven, whose heat from above and from the
/// band is 0.85 times what is believed of it: computed with the bake of the control.
pub const MASS_LEFT: [(f64, f64); 3] = [(5.0, 0.9398), (10.0, 0.8189), (14.5, 0.7394)];
/// Standard deviation of that share between batches.
pub const MASS_LEFT_SD: f64 = 0.004;

/// The plan: every treatment once in each part of the day.
pub fn wish() -> Request {
    Request::Blocks(Blocks {
        treatments: TRUTHS.map(|t| t.treatment.to_owned()).to_vec(),
        block_name: "part of the day".to_owned(),
        blocks: ["morning", "noon", "afternoon"].map(str::to_owned).to_vec(),
        per_block: 1,
    })
}

/// What is measured.
pub fn responses() -> Vec<crate::Asked> {
    let mut force = crate::Asked::of(Response::BreakingForce, BENT);
    // Said before the day: a bite that differs by less isn't noticed (invented).
    force.margin = Some(8.0);
    vec![
        force,
        crate::Asked::of(Response::WholeAtCutting, 1),
        crate::Asked::of(Response::WaterDose, 1),
        crate::Asked::of(Response::BakeLoss, 1),
        crate::Asked::of(Response::MoistureAirOven130, 1),
    ]
}

/// A draw of the standard normal (Box and Muller's way).
fn normal(random: &mut SplitMix64) -> f64 {
    let (u, v) = (1.0 - random.unit(), random.unit());
    (-2.0 * u.ln()).sqrt() * (std::f64::consts::TAU * v).cos()
}

struct Day<'a> {
    id: &'a str,
    minute: f64,
    rows: Vec<Entry>,
}

impl Day<'_> {
    fn write(
        &mut self,
        after_min: f64,
        what: What,
        of: Option<&str>,
        on: Option<String>,
        value: String,
    ) -> String {
        self.minute += after_min;
        let second = (60.0 * self.minute).round() as u64;
        let at = format!(
            "2026-03-02T{:02}:{:02}:{:02}Z",
            second / 3600,
            second / 60 % 60,
            second % 60
        );
        let key = format!("demo-{}-{:02}", self.id, self.rows.len() + 1);
        self.rows.push(Entry {
            id: 0,
            key: key.clone(),
            at: at.clone(),
            arrived: at,
            who: "Mira (invented)".to_owned(),
            device: None,
            what: what.about().word.to_owned(),
            of: of.map(str::to_owned),
            on,
            value,
            unit: None,
            strikes: None,
            why: None,
        });
        key
    }

    fn number(&mut self, after_min: f64, what: What, value: f64, places: usize) -> String {
        self.write(after_min, what, None, None, format!("{value:.places$}"))
    }
}

/// The rows of a batch, in the order in which they were written; none for a treatment without a truth.
pub fn rows(id: &str, batch: &Batch) -> Vec<Entry> {
    let Some(truth) = TRUTHS.iter().find(|t| t.treatment == batch.treatment) else {
        return Vec::new();
    };
    let order = batch.order.unwrap_or(1);
    let mut random = SplitMix64::stream(SEED, order as u64);
    let part = batch.day().unwrap_or_default();
    let part_of_day = part.bytes().map(u64::from).sum::<u64>();
    let day_off = FORCE_SD_N.0 * normal(&mut SplitMix64::stream(SEED ^ 0xda1, part_of_day));
    let mut day = Day {
        id,
        minute: 6.0 * 60.0 + 42.0 * (order as f64 - 1.0),
        rows: Vec::new(),
    };
    let dry_mix_kg = batch.dry_mix_kg.unwrap_or(1.0);
    for drinks in batch.drinks.iter().filter(|d| d.kg_per_100kg != 1.0) {
        let kg = dry_mix_kg * drinks.kg_per_100kg / 100.0;
        let of = Some(drinks.name.as_str());
        day.write(0.6, What::Weighed, of, None, format!("{kg:.3}"));
    }
    let need = batch.need_kg_per_100kg().unwrap_or(25.0);
    let right = need + truth.water_off_kg + WATER_SD_KG * normal(&mut random);
    let kg = |share: f64| dry_mix_kg * right * share / 100.0;
    day.number(1.0, What::WaterTemperature, 18.0 + normal(&mut random), 1);
    day.number(0.5, What::Dose, kg(0.86), 3);
    day.number(2.0, What::Feel, 1.0, 0);
    if order == 5 {
        // A slip of the pen, struck through as slips are.
        let wrong = day.number(0.5, What::Dose, 10.0 * kg(0.08), 3);
        day.number(0.4, What::Dose, kg(0.08), 3);
        if let Some(last) = day.rows.last_mut() {
            last.strikes = Some(wrong);
            last.why = Some("the point was one place off".to_owned());
        }
    } else {
        day.number(0.5, What::Dose, kg(0.08), 3);
    }
    day.number(1.5, What::Feel, 2.0, 0);
    day.number(0.5, What::Dose, kg(0.06), 3);
    day.number(1.5, What::Feel, 3.0, 0);
    day.number(0.5, What::Stand, 10.0, 0);
    day.write(0.2, What::DoughRight, None, None, "yes".to_owned());
    day.number(2.0, What::DoughTemperature, 25.0 + normal(&mut random), 1);
    let on = |part: &str, n: u32| Some(format!("{part}={n}"));
    for position in 1..=3 {
        let mm = 8.0 + 0.1 * normal(&mut random);
        day.write(
            0.3,
            What::Gauge,
            None,
            on("position", position),
            format!("{mm:.1}"),
        );
    }
    let (mut whole, mut stuck) = (0, 0);
    for _ in 0..PIECES {
        if random.unit() < truth.whole {
            whole += 1;
        } else if random.unit() < 0.3 {
            stuck += 1;
        }
    }
    day.number(3.0, What::Cut, f64::from(PIECES), 0);
    day.number(0.5, What::CutWhole, f64::from(whole), 0);
    day.number(0.2, What::CutBroken, f64::from(PIECES - whole - stuck), 0);
    day.number(0.2, What::CutStuck, f64::from(stuck), 0);
    day.write(
        1.0,
        What::OvenSet,
        Some("whole oven"),
        None,
        "175".to_owned(),
    );
    let read = 175.0 + 1.5 * normal(&mut random);
    day.write(
        0.3,
        What::OvenRead,
        Some("whole oven"),
        None,
        format!("{read:.0}"),
    );
    for tray in ["1", "2"] {
        day.write(0.5, What::OvenIn, Some(tray), None, "30".to_owned());
    }
    for (tray, minutes) in [("1", 14.5), ("2", 0.5)] {
        day.write(minutes, What::OvenOut, Some(tray), None, "30".to_owned());
    }
    // What the plan has a piece weigh, less what is lost on the way.
    let piece_g = 1000.0 * batch.dough_kg.unwrap_or(0.9) * (1.0 - LOST) / f64::from(PIECES);
    // Pulls in the midst of the bake have draws of their own.
    let last = [(); 3].map(|()| normal(&mut random));
    let mut early = SplitMix64::stream(SEED ^ 0xea71, order as u64);
    for (pull, (minutes, left)) in ["1", "2", "3"].into_iter().zip(MASS_LEFT) {
        let (pieces, [piece, _, warm]) = match pull {
            "3" => (12.0, last),
            _ => (3.0, [(); 3].map(|()| normal(&mut early))),
        };
        let before = pieces * piece_g * (1.0 + 0.01 * piece);
        for (what, value) in [
            (What::PulledAfter, minutes),
            (What::PulledPieces, pieces),
            (What::MassBefore, before),
            // How a batch's oven differs, all its pieces share.
            (What::MassAfter, before * (left - MASS_LEFT_SD * last[1])),
            (What::PulledTemperature, 99.0 + warm),
        ] {
            day.write(0.3, what, Some(pull), None, format!("{value:.1}"));
        }
    }
    // Instruments read later in the day, on the pieces of each batch.
    let own = FORCE_SD_N.1 * normal(&mut random);
    day.minute += 120.0;
    for piece in 1..=BENT {
        let force = truth.force_n + day_off + own + FORCE_SD_N.2 * normal(&mut random);
        let force = force.max(2.0);
        day.write(
            0.4,
            What::BendForce,
            None,
            on("piece", piece),
            format!("{force:.1}"),
        );
    }
    let moisture = truth.moisture_pct + MOISTURE_SD_PCT * normal(&mut random);
    let of = Some(Response::MoistureAirOven130.about().id);
    day.write(0.5, What::Moisture, of, None, format!("{moisture:.2}"));
    let activity = 0.42 + 0.02 * normal(&mut random);
    day.number(0.5, What::WaterActivity, activity, 3);
    if order == 3 {
        let words = "The damper stood a finger further open than on the sheet.";
        day.write(0.2, What::Deviation, None, None, words.to_owned());
    }
    if order == 1 {
        let words = "All of this day is invented: names, numbers, doughs.";
        day.write(0.2, What::Note, None, None, words.to_owned());
    }
    day.rows
}

/// The row that closes a batch's sheet.
pub fn signature(id: &str, rows: &[Entry], hash: &str) -> Option<Entry> {
    let last = rows.last()?;
    Some(Entry {
        key: format!("demo-{id}-signed"),
        what: What::Signed.about().word.to_owned(),
        of: None,
        on: None,
        value: hash.to_owned(),
        strikes: None,
        why: None,
        ..last.clone()
    })
}
