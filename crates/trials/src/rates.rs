//! Do the analyses keep their promises? Trials that people at a bench really make, drawn from seeds
//! with no true difference, put through the program's own choices: how often it raises a false
//! alarm, and how often a 95 % interval holds the truth.
//!
//! The file is long because it is one list, a row for each layout.

use crate::analyse::{AnalysisRequest, Cell, Claim, Table, analyse, model};
use crate::random::SplitMix64;
use crate::response::Kind;
use crate::stats::distribution::{normal_quantile, t_quantile};
use crate::stats::glm::expit;

/// A layout to try.
#[derive(Clone, Copy, Debug)]
pub struct Layout {
    /// What it is called on the page.
    pub name: &'static str,
    /// Whether the gate tries it.
    pub gate: bool,
    /// Why its rates may lie outside 4–6 % and 94–96 %; none where they may not.
    pub excuse: Option<&'static str>,
    draw: fn(&mut Draw) -> Trial,
}

/// One drawn trial.
struct Trial {
    table: Sheet,
    ask: Ask,
    /// Comparisons in which these levels take part are not null.
    apart: &'static [&'static str],
}

enum Ask {
    Analyse(Box<AnalysisRequest>),
    Trend(&'static str),
}

/// Most families of comparisons that a layout here has.
pub const FAMILIES: usize = 3;

/// What came of one trial.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Outcome {
    /// Whether anything was called different, there being nothing.
    pub alarm: bool,
    /// The same by family: the comparisons of one factor (with its slices along time), of the next,
    /// and of the combinations. Each is a question of its own, and its guard holds for itself.
    pub families: [bool; FAMILIES],
    /// 95 % intervals of single differences that held the truth.
    pub covered: u32,
    /// Intervals.
    pub intervals: u32,
    /// Whether the program gave no answer.
    pub refused: bool,
}

struct Draw {
    generator: SplitMix64,
}

impl Draw {
    fn normal(&mut self) -> f64 {
        normal_quantile(self.generator.unit().max(1e-300))
    }
    fn unit(&mut self) -> f64 {
        self.generator.unit()
    }
    /// So many of n.
    fn binomial(&mut self, n: usize, p: f64) -> f64 {
        (0..n).filter(|_| self.unit() < p).count() as f64
    }
    fn poisson(&mut self, mean: f64) -> f64 {
        let (limit, mut product, mut k) = ((-mean).exp(), self.unit(), 0.0);
        while product > limit {
            product *= self.unit();
            k += 1.0;
        }
        k
    }
    /// A score from 1 to 5 of a logistic latent value.
    fn score(&mut self, level: f64) -> f64 {
        let u = self.unit().clamp(1e-12, 1.0 - 1e-12);
        let latent = level + (u / (1.0 - u)).ln();
        1.0 + [-2.0, -0.7, 0.7, 2.0]
            .iter()
            .filter(|c| latent > **c)
            .count() as f64
    }
}

/// Rows under a header.
struct Sheet {
    header: &'static [&'static str],
    rows: Vec<Vec<Cell>>,
}

impl Sheet {
    fn new(header: &'static [&'static str]) -> Self {
        Self {
            header,
            rows: Vec::new(),
        }
    }
    fn add(&mut self, labels: &[String], numbers: &[f64]) {
        let text = labels.iter().map(|l| Cell::of(l, l.parse().ok()));
        self.rows.push(
            text.chain(numbers.iter().map(|v| Cell::Number(*v)))
                .collect(),
        );
    }
    fn lose(mut self, draw: &mut Draw, share: f64) -> Self {
        self.rows.retain(|_| draw.unit() >= share);
        self
    }
    fn table(self) -> Table {
        let header = self.header.iter().map(|h| (*h).to_owned()).collect();
        let rows = self.rows.into_iter().enumerate().map(|(i, r)| (i + 2, r));
        Table::from_rows(header, rows.collect()).unwrap_or_else(|_| Table {
            columns: Vec::new(),
            row_numbers: Vec::new(),
        })
    }
}

fn t(i: usize) -> String {
    ["control", "barley", "oat", "rice", "pea", "egg"][i].to_owned()
}

fn of(prefix: &str, i: usize) -> String {
    format!("{prefix}{:02}", i + 1)
}

fn plain(table: Sheet) -> Trial {
    asked(table, AnalysisRequest::of("y"))
}

fn asked(table: Sheet, request: AnalysisRequest) -> Trial {
    Trial {
        table,
        ask: Ask::Analyse(Box::new(request)),
        apart: &[],
    }
}

fn with_control(table: Sheet) -> Trial {
    asked(
        table,
        AnalysisRequest {
            control: Some("control".into()),
            ..AnalysisRequest::of("y")
        },
    )
}

/// Treatments with so many batches and spreads each.
fn one_way(d: &mut Draw, sizes: &[usize], sds: &[f64], pieces: usize) -> Sheet {
    let mut s = Sheet::new(if pieces > 0 {
        &["treatment", "batch", "piece", "y"]
    } else {
        &["treatment", "batch", "y"]
    });
    let mut batch = 0;
    for (i, &n) in sizes.iter().enumerate() {
        for _ in 0..n {
            let level = 50.0 + sds[i % sds.len()] * d.normal();
            for p in 0..pieces {
                let y = level + 2.0 * d.normal();
                s.add(&[t(i), of("B", batch), (p + 1).to_string()], &[y]);
            }
            if pieces == 0 {
                s.add(&[t(i), of("B", batch)], &[level]);
            }
            batch += 1;
        }
    }
    s
}

fn blocks(d: &mut Draw, treatments: usize, days: usize) -> Sheet {
    let mut s = Sheet::new(&["bake_day", "treatment", "y"]);
    for day in 0..days {
        let level = 50.0 + 3.0 * d.normal();
        for i in 0..treatments {
            s.add(&[of("d", day), t(i)], &[level + d.normal()]);
        }
    }
    s
}

/// Four treatments of which each day leaves one out, in turn.
fn some_a_day(d: &mut Draw, days: usize, day_sd: f64) -> Sheet {
    let mut s = Sheet::new(&["bake_day", "treatment", "y"]);
    for day in 0..days {
        let level = 50.0 + day_sd * d.normal();
        for i in (0..4).filter(|i| (i + day) % 4 != 0) {
            s.add(&[of("d", day), t(i)], &[level + d.normal()]);
        }
    }
    s
}

/// Batches of treatments measured on several days.
fn again(
    d: &mut Draw,
    treatments: usize,
    batches: usize,
    days: usize,
    unit_sd: f64,
    rho: f64,
) -> Sheet {
    let mut s = Sheet::new(&["treatment", "batch", "day", "y"]);
    for i in 0..treatments {
        for b in 0..batches {
            let level = 50.0 + unit_sd * d.normal();
            let mut e = d.normal();
            for day in 0..days {
                if day > 0 {
                    e = rho * e + (1.0 - rho * rho).sqrt() * d.normal();
                }
                let y = level + 0.3 * day as f64 + e;
                s.add(&[t(i), of("B", i * batches + b), day.to_string()], &[y]);
            }
        }
    }
    s
}

fn split_plot(d: &mut Draw, days: usize, day_sd: f64, load_sd: f64) -> Sheet {
    let mut s = Sheet::new(&["day", "oven", "load", "formula", "batch", "y"]);
    let mut batch = 0;
    for day in 0..days {
        let level = 50.0 + day_sd * d.normal();
        for oven in 0..2 {
            let load = level + load_sd * d.normal();
            for f in 0..3 {
                let labels = [
                    of("d", day),
                    ["hot", "mild"][oven].into(),
                    of("L", 2 * day + oven),
                    t(f),
                    of("B", batch),
                ];
                s.add(&labels, &[load + d.normal()]);
                batch += 1;
            }
        }
    }
    s
}

fn several_a_day(d: &mut Draw, joint_sd: f64) -> Sheet {
    let mut s = Sheet::new(&["day", "treatment", "batch", "y"]);
    let mut batch = 0;
    for day in 0..5 {
        let level = 50.0 + 2.0 * d.normal();
        for i in 0..3 {
            let cell = level + joint_sd * d.normal();
            for _ in 0..3 {
                s.add(&[of("d", day), t(i), of("B", batch)], &[cell + d.normal()]);
                batch += 1;
            }
        }
    }
    s
}

/// Broken of so many, batches varying on the log odds.
fn broken(d: &mut Draw, treatments: usize, batches: usize, n: usize, p: f64, sd: f64) -> Trial {
    let mut s = Sheet::new(&["treatment", "batch", "k", "n"]);
    for i in 0..treatments {
        for b in 0..batches {
            let chance = expit((p / (1.0 - p)).ln() + sd * d.normal());
            s.add(
                &[t(i), of("B", i * batches + b)],
                &[d.binomial(n, chance), n as f64],
            );
        }
    }
    count(s)
}

fn count(table: Sheet) -> Trial {
    asked(
        table,
        AnalysisRequest {
            out_of: Some("n".into()),
            ..AnalysisRequest::of("k")
        },
    )
}

fn dogs_scores(d: &mut Draw, dogs: usize, foods: usize, lost: f64) -> Trial {
    let mut s = Sheet::new(&["dog", "treatment", "y"]);
    for dog in 0..dogs {
        let level = 1.5 * d.normal();
        for i in 0..foods {
            s.add(&[of("D", dog), t(i)], &[d.score(level)]);
        }
    }
    let s = s.lose(d, lost);
    asked(
        s,
        AnalysisRequest {
            kind: Some(Kind::Ordinal),
            ..AnalysisRequest::of("y")
        },
    )
}

/// Every layout.
pub const ALL: [Layout; 44] = [
    Layout {
        name: "one-way, 4 × 5 batches",
        gate: true,
        excuse: None,
        draw: |d| plain(one_way(d, &[5; 4], &[1.0], 0)),
    },
    Layout {
        name: "one-way, 3, 4, 5 and 7 batches",
        gate: false,
        excuse: None,
        draw: |d| plain(one_way(d, &[3, 4, 5, 7], &[1.0], 0)),
    },
    Layout {
        name: "two treatments × 3 batches",
        gate: false,
        excuse: None,
        draw: |d| plain(one_way(d, &[3, 3], &[1.0], 0)),
    },
    Layout {
        name: "three treatments × 3 batches with a control",
        gate: false,
        excuse: None,
        draw: |d| with_control(one_way(d, &[3; 3], &[1.0], 0)),
    },
    Layout {
        name: "4 × 3 batches of 10 pieces",
        gate: true,
        excuse: None,
        draw: |d| plain(one_way(d, &[3; 4], &[1.0], 10)),
    },
    Layout {
        name: "4 × 4 batches of 8 pieces, a fifth of the pieces lost",
        gate: false,
        excuse: None,
        draw: |d| {
            let s = one_way(d, &[4; 4], &[1.0], 8);
            plain(s.lose(d, 0.2))
        },
    },
    Layout {
        name: "control beside three, spreads 1 : 4 : 2 : 6, sizes 4, 6, 5, 8",
        gate: true,
        excuse: None,
        draw: |d| with_control(one_way(d, &[4, 6, 5, 8], &[1.0, 4.0, 2.0, 6.0], 0)),
    },
    Layout {
        name: "control beside two, 5 batches each, spreads 1 : 3 : 1",
        gate: false,
        excuse: None,
        draw: |d| with_control(one_way(d, &[5; 3], &[1.0, 3.0, 1.0], 0)),
    },
    Layout {
        name: "control of 3 batches that spreads threefold, beside 8 and 8",
        gate: false,
        excuse: None,
        draw: |d| with_control(one_way(d, &[3, 8, 8], &[3.0, 1.0, 1.0], 0)),
    },
    Layout {
        name: "forces rounded to whole newtons (ties), 3 × 6",
        gate: false,
        excuse: None,
        draw: |d| {
            let mut s = one_way(d, &[6; 3], &[1.5], 0);
            for r in &mut s.rows {
                if let Some(Cell::Number(v)) = r.last_mut() {
                    *v = v.round();
                }
            }
            plain(s)
        },
    },
    Layout {
        name: "4 treatments in 6 bake days",
        gate: true,
        excuse: None,
        draw: |d| plain(blocks(d, 4, 6)),
    },
    Layout {
        name: "4 treatments in 6 bake days, a tenth of the batches lost",
        gate: false,
        excuse: None,
        draw: |d| {
            let s = blocks(d, 4, 6);
            plain(s.lose(d, 0.1))
        },
    },
    Layout {
        name: "3 treatments in 5 bake days with a control",
        gate: false,
        excuse: None,
        draw: |d| with_control(blocks(d, 3, 5)),
    },
    Layout {
        name: "factorial 2 × 3, 4 batches each",
        gate: false,
        excuse: None,
        draw: |d| {
            let mut s = Sheet::new(&["flour", "fat", "batch", "y"]);
            for i in 0..24 {
                s.add(
                    &[of("f", i % 2), of("g", i / 2 % 3), of("B", i)],
                    &[50.0 + d.normal()],
                );
            }
            asked(
                s,
                AnalysisRequest {
                    treatments: vec!["flour".into(), "fat".into()],
                    ..AnalysisRequest::of("y")
                },
            )
        },
    },
    Layout {
        name: "6 batches measured on 5 days",
        gate: true,
        excuse: None,
        draw: |d| plain(again(d, 2, 3, 5, 2.0, 0.0)),
    },
    Layout {
        name: "3 × 4 batches measured on 4 days, a tenth of the cells lost",
        gate: false,
        excuse: None,
        draw: |d| {
            let s = again(d, 3, 4, 4, 1.5, 0.0);
            plain(s.lose(d, 0.1))
        },
    },
    Layout {
        name: "3 × 4 batches on 5 days, correlation fading with time (0.7 a day)",
        gate: true,
        excuse: None,
        draw: |d| plain(again(d, 3, 4, 5, 0.0, 0.7)),
    },
    Layout {
        name: "2 × 6 batches on 6 days, own level and fading correlation (0.4 a day)",
        gate: false,
        excuse: None,
        draw: |d| plain(again(d, 2, 6, 6, 1.5, 0.4)),
    },
    Layout {
        name: "2 × 4 batches on 4 days, batches all alike",
        gate: false,
        excuse: Some("a variance estimated at 0 errs on the safe side"),
        draw: |d| plain(again(d, 2, 4, 4, 0.0, 0.0)),
    },
    Layout {
        name: "8 dogs, 3 foods, 3 days of each",
        gate: false,
        excuse: None,
        draw: |d| {
            let mut s = Sheet::new(&["dog", "treatment", "day", "y"]);
            for dog in 0..8 {
                let level = 200.0 + 30.0 * d.normal();
                for i in 0..3 {
                    let own = level + 8.0 * d.normal();
                    for day in 0..3 {
                        s.add(
                            &[of("D", dog), t(i), (day + 1).to_string()],
                            &[own + 10.0 * d.normal()],
                        );
                    }
                }
            }
            plain(s)
        },
    },
    Layout {
        name: "split plot, 5 days × 2 oven loads × 3 formulas",
        gate: true,
        excuse: None,
        draw: |d| plain(split_plot(d, 5, 2.0, 1.5)),
    },
    Layout {
        name: "split plot, a tenth of the batches lost",
        gate: false,
        excuse: None,
        draw: |d| {
            let s = split_plot(d, 5, 2.0, 1.5);
            plain(s.lose(d, 0.1))
        },
    },
    Layout {
        name: "split plot, days and loads all alike, a tenth lost",
        gate: false,
        excuse: Some("variances estimated at 0 err on the safe side"),
        draw: |d| {
            let s = split_plot(d, 5, 0.0, 0.0);
            plain(s.lose(d, 0.1))
        },
    },
    Layout {
        name: "3 batches of each treatment on each of 5 days, for new days",
        gate: true,
        excuse: None,
        draw: |d| plain(several_a_day(d, 1.5)),
    },
    Layout {
        name: "the same, a tenth of the batches lost",
        gate: false,
        excuse: None,
        draw: |d| {
            let s = several_a_day(d, 1.5);
            plain(s.lose(d, 0.1))
        },
    },
    Layout {
        name: "the same, treatments alike on all days, for these days",
        gate: false,
        excuse: None,
        draw: |d| {
            let s = several_a_day(d, 0.0);
            asked(
                s,
                AnalysisRequest {
                    claim: Claim::These,
                    ..AnalysisRequest::of("y")
                },
            )
        },
    },
    Layout {
        name: "trend along water, 12 batches of 5 pieces",
        gate: true,
        excuse: None,
        draw: |d| trend(d, 0.0),
    },
    Layout {
        name: "trend along water, a fifth of the pieces lost",
        gate: false,
        excuse: None,
        draw: |d| trend(d, 0.2),
    },
    Layout {
        name: "broken of 40, 2 × 4 batches, 15 %, batches vary",
        gate: true,
        excuse: Some("counts of few batches are coarse: alarms may lie below"),
        draw: |d| broken(d, 2, 4, 40, 0.15, 0.5),
    },
    Layout {
        name: "broken of 30, 3 × 5 batches, 10 %, batches vary",
        gate: false,
        excuse: Some("counts of few batches are coarse: alarms may lie below"),
        draw: |d| broken(d, 3, 5, 30, 0.10, 0.5),
    },
    Layout {
        name: "broken of 30, 2 × 3 batches, 20 %, batches vary much",
        gate: false,
        excuse: Some("counts of few batches are coarse: alarms may lie below"),
        draw: |d| broken(d, 2, 3, 30, 0.20, 0.9),
    },
    Layout {
        name: "broken of 40, 3 × 4 batches, 3 % (many zeros)",
        gate: false,
        excuse: Some("with next to no events the alarms lie below"),
        draw: |d| broken(d, 3, 4, 40, 0.03, 0.4),
    },
    Layout {
        name: "broken of 40, one of three never breaks; the other two compared",
        gate: false,
        excuse: Some("one of three comparisons is null: alarms lie below"),
        draw: |d| {
            let mut s = Sheet::new(&["treatment", "batch", "k", "n"]);
            for i in 0..3 {
                for b in 0..4 {
                    let p = if i == 0 {
                        0.0
                    } else {
                        expit(-1.5 + 0.5 * d.normal())
                    };
                    s.add(&[t(i), of("B", 4 * i + b)], &[d.binomial(40, p), 40.0]);
                }
            }
            Trial {
                apart: &["control"],
                ..count(s)
            }
        },
    },
    Layout {
        name: "broken of 36 in 6 bake days, 3 treatments",
        gate: true,
        excuse: Some("counts of few batches are coarse: alarms may lie below"),
        draw: |d| {
            let mut s = Sheet::new(&["bake_day", "treatment", "k", "n"]);
            for day in 0..6 {
                let level = -1.8 + 0.6 * d.normal();
                for i in 0..3 {
                    let p = expit(level + 0.4 * d.normal());
                    s.add(&[of("d", day), t(i)], &[d.binomial(36, p), 36.0]);
                }
            }
            count(s)
        },
    },
    Layout {
        name: "cracks per tray, 3 × 6 trays of unequal size",
        gate: false,
        excuse: None,
        draw: |d| {
            let mut s = Sheet::new(&["treatment", "tray", "looked_at", "y"]);
            for i in 0..18 {
                let n = [20.0, 40.0, 60.0][(3.0 * d.unit()) as usize % 3];
                let mean = 0.12 * n * (0.5 * d.normal()).exp();
                s.add(&[t(i % 3), of("T", i)], &[n, d.poisson(mean)]);
            }
            asked(
                s,
                AnalysisRequest {
                    kind: Some(Kind::Count),
                    exposure: Some("looked_at".into()),
                    treatments: vec!["treatment".into()],
                    ..AnalysisRequest::of("y")
                },
            )
        },
    },
    Layout {
        name: "scores 1 to 5 of 12 dogs for 3 foods",
        gate: true,
        excuse: None,
        draw: |d| dogs_scores(d, 12, 3, 0.0),
    },
    Layout {
        name: "scores of 20 dogs for 2 foods, a tenth lost",
        gate: false,
        excuse: None,
        draw: |d| dogs_scores(d, 20, 2, 0.1),
    },
    Layout {
        name: "scores 1 to 5, 3 × 8 batches",
        gate: false,
        excuse: None,
        draw: |d| {
            let mut s = Sheet::new(&["treatment", "batch", "y"]);
            for i in 0..24 {
                s.add(&[t(i % 3), of("B", i)], &[d.score(0.0)]);
            }
            asked(
                s,
                AnalysisRequest {
                    kind: Some(Kind::Ordinal),
                    ..AnalysisRequest::of("y")
                },
            )
        },
    },
    Layout {
        name: "yes or no, 10 dogs, 2 foods, 4 times each",
        gate: false,
        excuse: Some("shares of few are coarse: alarms may lie below"),
        draw: |d| {
            let mut s = Sheet::new(&["dog", "treatment", "y"]);
            for dog in 0..10 {
                let level = 0.8 * d.normal();
                for i in 0..2 {
                    let own = level + 0.8 * d.normal();
                    for _ in 0..4 {
                        s.add(
                            &[of("D", dog), t(i)],
                            &[f64::from(u8::from(d.unit() < expit(own)))],
                        );
                    }
                }
            }
            asked(
                s,
                AnalysisRequest {
                    kind: Some(Kind::Binary),
                    ..AnalysisRequest::of("y")
                },
            )
        },
    },
    Layout {
        name: "two foods, two periods, 12 dogs",
        gate: false,
        excuse: None,
        draw: |d| {
            let mut s = Sheet::new(&["dog", "sequence", "period", "treatment", "y"]);
            for dog in 0..12 {
                let level = 250.0 + 30.0 * d.normal();
                for p in 0..2 {
                    let food = (dog + p) % 2;
                    s.add(
                        &[
                            of("D", dog),
                            ["AB", "BA"][dog % 2].into(),
                            (p + 1).to_string(),
                            t(food),
                        ],
                        &[level - 5.0 * p as f64 + 12.0 * d.normal()],
                    );
                }
            }
            plain(s)
        },
    },
    Layout {
        name: "covariate (dough moisture), 3 × 6 batches",
        gate: false,
        excuse: None,
        draw: |d| {
            let mut s = Sheet::new(&["treatment", "batch", "moisture_c", "y"]);
            for i in 0..18 {
                let x = 33.0 + 2.0 * d.normal();
                s.add(
                    &[t(i % 3), of("B", i)],
                    &[x, 60.0 - 1.5 * (x - 33.0) + 2.0 * d.normal()],
                );
            }
            asked(
                s,
                AnalysisRequest {
                    covariates: vec!["moisture_c".into()],
                    ..AnalysisRequest::of("y")
                },
            )
        },
    },
    Layout {
        name: "broken on a split plot, 5 days × 2 loads × 3 formulas",
        gate: false,
        excuse: Some("counts are coarse: alarms may lie below"),
        draw: |d| {
            let mut s = Sheet::new(&["day", "oven", "load", "formula", "batch", "k", "n"]);
            for day in 0..5 {
                let level = -1.6 + 0.5 * d.normal();
                for oven in 0..2 {
                    let load = level + 0.5 * d.normal();
                    for f in 0..3 {
                        let at = (2 * day + oven) * 3 + f;
                        let p = expit(load + 0.3 * d.normal());
                        s.add(
                            &[
                                of("d", day),
                                ["hot", "mild"][oven].into(),
                                of("L", 2 * day + oven),
                                t(f),
                                of("B", at),
                            ],
                            &[d.binomial(40, p), 40.0],
                        );
                    }
                }
            }
            count(s)
        },
    },
    Layout {
        name: "3 of 4 treatments on each of 6 bake days, days all alike",
        gate: false,
        excuse: Some("a variance estimated at 0 errs on the safe side"),
        draw: |d| plain(some_a_day(d, 6, 0.0)),
    },
    Layout {
        name: "3 of 4 treatments on each of 8 bake days",
        gate: false,
        excuse: None,
        draw: |d| plain(some_a_day(d, 8, 1.5)),
    },
];

fn trend(d: &mut Draw, lost: f64) -> Trial {
    let mut s = Sheet::new(&["water", "batch", "piece", "y"]);
    for b in 0..12 {
        let level = 50.0 + 2.0 * d.normal();
        for p in 0..5 {
            s.add(
                &[
                    (30 + 2 * (b % 4)).to_string(),
                    of("B", b),
                    (p + 1).to_string(),
                ],
                &[level + 2.0 * d.normal()],
            );
        }
    }
    Trial {
        table: s.lose(d, lost),
        ask: Ask::Trend("water"),
        apart: &[],
    }
}

/// Tries one seed of a layout.
pub fn try_one(layout: &Layout, seed: u64) -> Outcome {
    let at = ALL.iter().position(|l| l.name == layout.name).unwrap_or(0);
    let mut draw = Draw {
        generator: SplitMix64::stream(seed, 1000 + at as u64),
    };
    let trial = (layout.draw)(&mut draw);
    let mut out = Outcome::default();
    let mut judge = |difference: f64, se: f64, df: f64| {
        out.intervals += 1;
        out.covered += u32::from(difference.abs() <= t_quantile(0.975, df) * se);
    };
    match trial.ask {
        Ask::Trend(along) => {
            match model::fit_trend(&trial.table.table(), "y", along, None, false) {
                Ok(found) => {
                    let slope = &found.coefficients[1];
                    if let (Some(b), Some(se), Some(df)) = (slope.estimate, slope.se, slope.df) {
                        judge(b, se, df);
                    }
                    out.alarm = slope.p.is_some_and(|p| p < 0.05);
                    out.families[0] = out.alarm;
                }
                Err(_) => out.refused = true,
            }
        }
        Ask::Analyse(request) => match analyse(&trial.table.table(), &request) {
            Ok(found) => {
                let null = |l: &&crate::analyse::ComparisonLine| {
                    !trial.apart.contains(&l.a.as_str()) && !trial.apart.contains(&l.b.as_str())
                };
                let base = |term: &str| term.split(" @ ").next().unwrap_or_default().to_owned();
                let mut terms: Vec<String> = Vec::new();
                for mean in &found.means {
                    let term = base(&mean.term);
                    if !terms.contains(&term) {
                        terms.push(term);
                    }
                }
                for line in found.comparisons.iter().filter(null) {
                    if !line.term.contains('@') {
                        judge(line.difference, line.se, line.df.unwrap_or(f64::INFINITY));
                    }
                    let own = base(&line.term);
                    let family = terms.iter().position(|t| *t == own).unwrap_or(0);
                    out.families[family.min(FAMILIES - 1)] |= line.p_adjusted < 0.05;
                    out.alarm |= line.p_adjusted < 0.05;
                }
                out.refused = found.comparisons.is_empty();
            }
            Err(_) => out.refused = true,
        },
    }
    out
}

/// Rates of a layout over some seeds.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Rates {
    /// Trials.
    pub trials: u32,
    /// Trials with a false alarm anywhere.
    pub alarms: u32,
    /// Trials with a false alarm in each family.
    pub families: [u32; FAMILIES],
    /// Intervals that held the truth.
    pub covered: u32,
    /// Intervals.
    pub intervals: u32,
    /// Trials without an answer.
    pub refused: u32,
}

impl Rates {
    /// Tries the seeds `from..to`.
    pub fn of(layout: &Layout, from: u64, to: u64) -> Self {
        let mut out = Self::default();
        for seed in from..to {
            let one = try_one(layout, seed);
            out.trials += 1;
            out.alarms += u32::from(one.alarm);
            for (sum, own) in out.families.iter_mut().zip(one.families) {
                *sum += u32::from(own);
            }
            out.covered += one.covered;
            out.intervals += one.intervals;
            out.refused += u32::from(one.refused);
        }
        out
    }

    /// Trials with a false alarm in the family that has most.
    pub fn family_alarms(&self) -> u32 {
        self.families.into_iter().max().unwrap_or(0)
    }

    /// Both together.
    #[must_use]
    pub fn and(self, other: Self) -> Self {
        Self {
            families: std::array::from_fn(|i| self.families[i] + other.families[i]),
            trials: self.trials + other.trials,
            alarms: self.alarms + other.alarms,
            covered: self.covered + other.covered,
            intervals: self.intervals + other.intervals,
            refused: self.refused + other.refused,
        }
    }
}
