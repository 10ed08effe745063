//! Random studies over all materials, thicknesses and targets: every answer is finite, and what lies outside of what was
//! tested is marked. `HARDTACK_SWEEP=5000` runs so many (the long form); the short one runs 200.
#![allow(clippy::unwrap_used, reason = "a test may fail by panicking")]

use formula::shelf;
use study::compare::sheet::Shown;
use study::compare::sheet::{Known, figure_cell};
use study::views::knock_on::Axis;
use study::{BakeOptions, Figure, compare};

/// Evenly spread numbers from a seed (SplitMix64, public domain).
struct Draw(u64);

impl Draw {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }

    fn one_of<'a, T>(&mut self, all: &'a [T]) -> &'a T {
        &all[(self.next() % all.len() as u64) as usize]
    }
}

fn random_study(seed: u64) -> String {
    let mut draw = Draw(seed);
    let ids: Vec<&str> = shelf::shelf().iter().map(|m| m.id.as_str()).collect();
    let mut lines = String::from("    { material = \"wheat_flour_soft\", amount = 20 },\n");
    let mut used = vec!["wheat_flour_soft", "water"];
    for _ in 0..1 + draw.next() % 5 {
        let id = *draw.one_of(&ids);
        if used.contains(&id) {
            continue;
        }
        used.push(id);
        let amount = draw.between(0.2, 60.0);
        lines.push_str(&format!(
            "    {{ material = \"{id}\", amount = {amount:.3} }},\n"
        ));
    }
    let forming = draw.one_of(&["sheeted", "rotary", "wire-cut"]);
    let oven = draw.one_of(&[
        "bench convection oven",
        "three-zone steel band",
        "mesh band with drying zone",
    ]);
    let at = draw.one_of(&["oven exit", "cooled", "packed"]);
    let thickness = draw.between(1.0, 40.0);
    let diameter = draw.between(8.0, 120.0);
    let target = draw.between(2.0, 25.0);
    let water = draw.between(5.0, 60.0);
    let percent = if draw.next().is_multiple_of(2) {
        lines.push_str(&format!(
            "    {{ material = \"water\", amount = {water:.2} }},\n"
        ));
        "given"
    } else {
        "need"
    };
    format!(
        r#"hardtack = 1
[study]
name = "Sweep {seed}"
control = "only"
target = {{ moisture_pct = {target:.2}, at = "{at}" }}
[piece]
outline = "round"
diameter_mm = {diameter:.2}
thickness_mm = {thickness:.2}
[process]
forming = "{forming}"
[oven]
preset = "{oven}"
[[treatment]]
id = "only"
percent_of = "parts"
water = "{percent}"
lines = [
{lines}]
"#
    )
}

/// Whether a study had an answer; an error is what is wrong with it.
fn answered(seed: u64) -> Result<bool, String> {
    let text = random_study(seed);
    let study = match study::written::read(&text) {
        Ok(study) => study,
        // What can't be, such as a piece that doesn't fit its die, is told at its field.
        Err(problems) if problems.is_empty() => {
            return Err(format!("refused without a reason:\n{text}"));
        }
        Err(_) => return Ok(false),
    };
    let options = BakeOptions {
        checks: true,
        ..BakeOptions::QUICK
    };
    let compared = match compare(&study, &[study.control()], &options) {
        Ok(compared) => compared,
        Err(error) if error.to_string().is_empty() => {
            return Err(format!("failed without a reason:\n{text}"));
        }
        Err(_) => return Ok(false),
    };
    let c = &compared[0];
    for figure in Figure::ALL {
        let cell = figure_cell(c, figure);
        if let Shown::Number(v, _) = cell.shown
            && !v.is_finite()
        {
            return Err(format!("{} is {v}:\n{text}", figure.about().name));
        }
        let outside = c
            .answer
            .beyond
            .iter()
            .any(|b| b.axis.figures().contains(&figure));
        let told = !matches!(cell.shown, Shown::Unknown(_));
        if outside && told && cell.known != Known::Beyond {
            return Err(format!("{} isn't marked:\n{text}", figure.about().name));
        }
    }
    let piece = &study.control().setting.piece;
    let (_, _, tested) = Axis::Thickness.tested();
    let thick = !(tested.low - 0.05..=tested.high + 0.05).contains(&(1e3 * piece.thickness_m));
    if thick != c.answer.beyond.iter().any(|b| b.axis == Axis::Thickness) {
        return Err(format!("thickness isn't judged:\n{text}"));
    }
    Ok(true)
}

#[test]
fn random_studies_are_finite_and_marked_outside_of_what_was_tested() {
    let count: u64 = std::env::var("HARDTACK_SWEEP")
        .ok()
        .and_then(|n| n.parse().ok())
        .unwrap_or(200);
    let (mut had, mut wrong) = (0, Vec::new());
    for seed in 0..count {
        match answered(seed) {
            Ok(yes) => had += u64::from(yes),
            Err(what) => wrong.push(what),
        }
    }
    println!("{had} of {count} had an answer");
    wrong.truncate(5);
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(had * 10 > count * 7, "only {had} of {count} had an answer");
}
