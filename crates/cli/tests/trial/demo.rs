//! The demonstration's data: invented, drawn from a known truth by a seed, so that they can be made
//! again. `UPDATE_EXAMPLES=1` writes the files; without it they are compared.

use std::fmt::Write;
use trials::random::{SplitMix64, shuffle};
use trials::stats::distribution::normal_quantile;

/// Seed of every file.
pub const SEED: u64 = 20_261_125;

/// A treatment's truth.
pub struct Truth {
    pub id: &'static str,
    /// Breaking force, N.
    pub force_n: f64,
    /// Packed moisture, %.
    pub moisture_pct: f64,
    /// Share broken after 48 h.
    pub broken: f64,
}

pub const TRUTH: [Truth; 4] = [
    truth("control", 62.0, 8.0, 0.04),
    truth("barley", 54.0, 8.1, 0.06),
    truth("rice_chickpea", 46.0, 8.6, 0.15),
    truth("rice_chickpea_egg", 60.0, 8.3, 0.05),
];

const fn truth(id: &'static str, force_n: f64, moisture_pct: f64, broken: f64) -> Truth {
    Truth {
        id,
        force_n,
        moisture_pct,
        broken,
    }
}

pub const DAYS: usize = 6;
pub const PIECES: usize = 8;
pub const COUNTED: usize = 80;
/// Spreads of the force between days, between batches of a day and between pieces of a batch, N.
pub const FORCE_SD: [f64; 3] = [4.0, 3.0, 7.0];
/// Spreads of the moisture between days and between batches, points.
pub const MOISTURE_SD: [f64; 2] = [0.15, 0.20];
/// Spread of the log odds of breaking between batches.
pub const BROKEN_SD: f64 = 0.25;

pub const DOGS: usize = 24;
/// True share of A in the intake, its change with the side, and the spread between dogs.
pub const SHARE: [f64; 3] = [0.58, 0.06, 0.09];

fn normal(g: &mut SplitMix64) -> f64 {
    normal_quantile(g.unit().max(1e-300))
}

/// One file and what it holds.
pub fn files() -> [(&'static str, String); 4] {
    let (pieces, batches) = bite(SEED);
    [
        ("trial-bite.csv", pieces),
        ("trial-bite-batches.csv", batches),
        ("trial-two-bowl.csv", bowls()),
        ("trial-bite.md", told()),
    ]
}

/// Pieces and batches of a trial drawn from the truth.
pub fn bite(seed: u64) -> (String, String) {
    let mut g = SplitMix64::stream(seed, 1);
    let mut pieces = String::from("bake_day,batch,order,treatment,piece,breaking_force_n\n");
    let mut batches =
        String::from("bake_day,batch,treatment,moisture_130_percent,broken_after_48h,counted\n");
    let mut batch = 0;
    for day in 1..=DAYS {
        let day_force = FORCE_SD[0] * normal(&mut g);
        let day_moisture = MOISTURE_SD[0] * normal(&mut g);
        let mut order: Vec<&Truth> = TRUTH.iter().collect();
        shuffle(&mut order, &mut g);
        for (place, t) in order.into_iter().enumerate() {
            batch += 1;
            let force = t.force_n + day_force + FORCE_SD[1] * normal(&mut g);
            for piece in 1..=PIECES {
                let f = force + FORCE_SD[2] * normal(&mut g);
                let _ = writeln!(
                    pieces,
                    "{day},B{batch:02},{},{},{piece},{f:.1}",
                    place + 1,
                    t.id
                );
            }
            let moisture = t.moisture_pct + day_moisture + MOISTURE_SD[1] * normal(&mut g);
            let odds = (t.broken / (1.0 - t.broken)).ln() + BROKEN_SD * normal(&mut g);
            let share = 1.0 / (1.0 + (-odds).exp());
            let broken = (0..COUNTED).filter(|_| g.unit() < share).count();
            let _ = writeln!(
                batches,
                "{day},B{batch:02},{},{moisture:.2},{broken},{COUNTED}",
                t.id
            );
        }
    }
    (pieces, batches)
}

fn bowls() -> String {
    let mut g = SplitMix64::stream(SEED, 2);
    let mut out =
        String::from("dog,day,left,offered_a_g,offered_b_g,intake_a_g,intake_b_g,first\n");
    for dog in 1..=DOGS {
        let own = SHARE[0] + SHARE[2] * normal(&mut g);
        // Half the dogs start with A on the left.
        for day in 1..=2 {
            let a_left = (dog + day) % 2 == 0;
            let side = if a_left { 0.5 } else { -0.5 } * SHARE[1];
            let share = (own + side + 0.05 * normal(&mut g)).clamp(0.02, 0.98);
            let total = 70.0 + 15.0 * g.unit();
            let first = if g.unit() < 0.5 + 1.5 * (share - 0.5) {
                "A"
            } else {
                "B"
            };
            let _ = writeln!(
                out,
                "D{dog:02},{day},{},90,90,{:.1},{:.1},{first}",
                if a_left { "A" } else { "B" },
                share * total,
                (1.0 - share) * total
            );
        }
    }
    out
}

fn told() -> String {
    let mut out = format!(
        "# The demonstration's trials\n\nAll of it is invented. The data were drawn from the truth below (seed {SEED}), so that anyone can see\nwhether the analysis finds it again. The treatments are those of `spent-grain.toml`.\n\n## Bite, moisture and breakage: `trial-bite.csv`, `trial-bite-batches.csv`\n\n{DAYS} bake days (blocks), every treatment once a day in random order, each in a batch of its own; {PIECES} pieces\nof every batch broken in three-point bend; one packed moisture per batch (air oven 130 °C); {COUNTED} pieces of every\nbatch counted after 48 h.\n\n| treatment | breaking force, N | moisture, % | broken after 48 h, % |\n| --- | ---: | ---: | ---: |\n"
    );
    for t in &TRUTH {
        let _ = writeln!(
            out,
            "| {} | {} | {:.1} | {:.0} |",
            t.id,
            t.force_n,
            t.moisture_pct,
            100.0 * t.broken
        );
    }
    let _ = write!(
        out,
        "\n| spread (standard deviation) | force, N | moisture, points |\n| --- | ---: | ---: |\n| between bake days | {} | {} |\n| between batches of a day | {} | {} |\n| between pieces of a batch | {} | – |\n\nThe log odds of breaking vary by {BROKEN_SD} between batches.\n\nThe analysis finds the large differences; of its nine intervals one (breakage with egg white) misses its truth by\na hair, as about one family of intervals in twenty will. Nothing was drawn again to make it look better.\n\n## Two bowls: `trial-two-bowl.csv`\n\n{DOGS} dogs, two days with the bowls changed over. True share of food A in the intake {} %; a food is\neaten {} points more on the left than on the right; dogs differ by {} points.\n",
        FORCE_SD[0],
        MOISTURE_SD[0],
        FORCE_SD[1],
        MOISTURE_SD[1],
        FORCE_SD[2],
        (100.0 * SHARE[0]).round(),
        (100.0 * SHARE[1]).round(),
        (100.0 * SHARE[2]).round()
    );
    out
}
