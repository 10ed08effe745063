//! Every part of the look on one page, with invented data: `cargo run -p paper --example specimen`.

use maud::{Markup, html};
use measure::{Finding, Given, Grade, Severity, Source};
use paper::Ramp;
use paper::chart::*;
use paper::parts::*;
use std::io::Write;

fn main() -> std::io::Result<()> {
    std::io::stdout().write_all(page().as_bytes())
}

/// The whole specimen page.
pub fn page() -> String {
    paper::self_contained(
        "Specimen",
        "Specimen of the look · revision 3 · 5f2c 91ab · invented data",
        &body(),
    )
}

fn body() -> Markup {
    html! {
        h1 { "Can we leave the wheat out and keep the bite?" }
        p .lead { "Every part of the look on one page. All data here are invented." }
        (side_by_side(&sheet()))
        (findings(&notices()))
        (reason("Why the barley dough takes 26 % water", &html! {
            p { "Each flour takes up its own share of water, and what the fat coats takes up less. The need is their sum, shifted by what three batches in the book have taught." }
            (givens(&stands_on()))
        }))
        h2 { "The bake" }
        (line_chart(&bake()))
        div .figures { (line_chart(&bake())) (line_chart(&temperatures())) }
        (heat_strip(&section(Ramp::Temperature)))
        (heat_strip(&section(Ramp::Moisture)))
        h2 { "The line" }
        (ribbon(&masses()))
        (bars(&stations()))
        (stack(&cost()))
        h2 { "The trial" }
        (dot_plot(&forces()))
        div .figures {
            (dot_plot(&forces()))
            (residual_plot(&residuals()))
            (interaction_plot(&interaction()))
            (power_curve(&power()))
            (stack(&cost()))
            (bars(&stations()))
        }
        (ribbon_narrow())
        (ternary(&mixture()))
        h2 { "To sign" }
        (lines_to_fill(&["weighed by", "checked by", "date"].map(|n| Line { name: n.into() })))
    }
}

fn ribbon_narrow() -> Markup {
    html! { div .figures { (ribbon(&masses())) (heat_strip(&section(Ramp::Temperature))) (ternary(&mixture())) } }
}

const NAMES: [&str; 4] = ["Control", "Barley", "Rice & chickpea", "…with egg white"];

fn sheet() -> SideBySide {
    let number = |v: f64, c: f64| Cell::number(v, 1).change(v - c, 1, None);
    let row = |name: &str, unit: &str, cells: Vec<Cell>| Row {
        name: name.into(),
        unit: unit.into(),
        cells,
        sum: false,
    };
    let sum = Row {
        sum: true,
        ..row("sum", "%", vec![Cell::number(100.0, 1); 4])
    };
    let curve = |speed: f64| {
        let values: Vec<f64> = (0..30).map(|i| drying(f64::from(i) / 1.5, speed)).collect();
        spark(
            &values,
            Some((0.0, 32.0)),
            "moisture falls from 31 % to 8 %",
        )
    };
    let minutes = [
        (17.4, 1.0, None),
        (18.9, 0.92, Some("slower")),
        (18.1, 0.96, Some("slower")),
        (17.0, 1.05, Some("faster")),
    ];
    let bake = minutes.map(|(v, speed, word)| {
        let cell = Cell::number(v, 1).picture(curve(speed));
        if v == 17.4 {
            cell
        } else {
            cell.change(v - 17.4, 1, word)
        }
    });
    let need = [
        (24.0, 21.0, 27.0),
        (26.0, 22.0, 30.0),
        (25.0, 18.0, 32.0),
        (27.0, 22.0, 32.0),
    ];
    SideBySide {
        caption: "Spent-grain bars".into(),
        row_head: "per cent of the mix".into(),
        columns: NAMES.map(String::from).to_vec(),
        groups: vec![
            Group {
                name: "dry".into(),
                rows: vec![
                    row(
                        "Soft wheat flour",
                        "%",
                        vec![
                            Cell::number(55.0, 1),
                            Cell::empty().change(-55.0, 1, None),
                            Cell::empty().change(-55.0, 1, None),
                            Cell::empty(),
                        ],
                    ),
                    row(
                        "Barley flour",
                        "%",
                        vec![
                            Cell::empty(),
                            number(55.0, 0.0),
                            Cell::empty(),
                            Cell::empty(),
                        ],
                    ),
                    row(
                        "Spent grain, dried",
                        "%",
                        vec![
                            Cell::number(12.0, 1).known(Known::Measured),
                            number(12.0, 12.0),
                            number(12.0, 12.0),
                            number(12.0, 12.0),
                        ],
                    ),
                ],
            },
            Group {
                name: "liquid".into(),
                rows: vec![
                    row(
                        "Water",
                        "%",
                        vec![
                            Cell::number(23.5, 1),
                            number(25.1, 23.5),
                            number(26.0, 23.5),
                            number(27.4, 23.5),
                        ],
                    ),
                    row(
                        "needs",
                        "%",
                        need.map(|(m, l, h)| {
                            Cell::text(paper::number::interval(m, l, h)).known(Known::Learned)
                        })
                        .to_vec(),
                    ),
                    row(
                        "",
                        "",
                        need.map(|(mean, low, high)| {
                            Cell::text("").picture(interval(&Interval {
                                mean,
                                low,
                                high,
                                scale: (15.0, 35.0),
                                control: Some(24.0),
                            }))
                        })
                        .to_vec(),
                    ),
                    sum,
                ],
            },
            Group {
                name: "what it does".into(),
                rows: vec![
                    row(
                        "dough moisture",
                        "%",
                        vec![
                            Cell::number(31.2, 1),
                            number(32.4, 31.2),
                            number(33.0, 31.2),
                            number(34.1, 31.2),
                        ],
                    ),
                    row("bake", "min", bake.to_vec()),
                    row(
                        "oven output",
                        "kg/h",
                        vec![
                            Cell::number(412.0, 0),
                            Cell::number(379.0, 0).change(-33.0, 0, Some("less")),
                            Cell::number(396.0, 0).change(-16.0, 0, Some("less")),
                            Cell::unknown(
                                "the baking time of egg white is outside the model's range",
                            ),
                        ],
                    ),
                    row(
                        "uptake of hulls",
                        "g/g",
                        vec![
                            Cell::number(1.4, 1).known(Known::Assumed),
                            Cell::number(1.6, 1).known(Known::Assumed),
                            Cell::number(0.0, 1),
                            Cell::number(0.0, 1),
                        ],
                    ),
                ],
            },
        ],
    }
}

measure::codes! {
    /// What the findings of the specimen are called.
    pub enum Code {
        /// Few batches stand behind a value.
        FewBatches = "few-batches",
        /// The kill isn't shown.
        KillStep = "kill-step",
        /// Hops may be in a material.
        Hops = "hops",
    }
}

fn notices() -> Vec<Finding> {
    vec![
        Finding::new(
            Severity::Note,
            Code::FewBatches,
            "water",
            "Three batches stand behind the water need; the interval is wide.",
        )
        .help("Each further titration narrows it."),
        Finding::new(
            Severity::Stop,
            Code::KillStep,
            "bake",
            "The coldest place has not been shown to reach the wanted log reduction.",
        )
        .help("Bake longer, or ask a process authority before feeding."),
        Finding::new(
            Severity::Warn,
            Code::Hops,
            "material:spent grain",
            "Spent grain from hopped wort may carry hops, which can harm dogs.",
        )
        .help("Use grain taken before the hops go in, and ask a veterinarian.")
        .source("common practice, no source"),
    ]
}

fn stands_on() -> Vec<Given> {
    let given = |name: &'static str, value, unit: &'static str, grade, text: &'static str| Given {
        name: name.into(),
        value: Some(value),
        unit: unit.into(),
        source: Source::fixed(grade, text),
    };
    vec![
        given(
            "uptake of barley flour",
            0.71,
            "g/g",
            Grade::Measured,
            "own titration, invented",
        ),
        given(
            "uptake of spent grain",
            1.4,
            "g/g",
            Grade::Assumed,
            "working figure, invented",
        ),
        given(
            "water in the lot",
            12.3,
            "%",
            Grade::Published,
            "certificate of the lot, invented",
        ),
    ]
}

fn drying(t: f64, speed: f64) -> f64 {
    4.0 + 27.0 / (1.0 + (speed * (t - 9.0) / 2.6).exp())
}

fn bake() -> LineChart {
    let curve = |speed: f64, shift: f64| {
        (0..=60).map(move |i| {
            (
                f64::from(i) * 0.3,
                drying(f64::from(i) * 0.3, speed) + shift,
            )
        })
    };
    let band = (0..=60).map(|i| {
        let t = f64::from(i) * 0.3;
        let v = drying(t, 0.9) + 1.2;
        Band {
            x: t,
            low: v - 0.4 - 0.08 * t,
            high: v + 0.4 + 0.08 * t,
        }
    });
    LineChart {
        title: "Moisture over the bake".into(),
        note: "mean of the piece; the band holds 95 % of bakes".into(),
        x: Axis::new("time", "min"),
        y: Axis::new("moisture", "% of the piece").with_zero(),
        series: vec![
            Series::new("Control", Look::Control, curve(1.0, 0.0)),
            Series::new("Barley", Look::Changed, curve(0.9, 1.2)).banded(band),
            Series::new("Rice & chickpea", Look::Treatment, curve(0.96, 0.5)),
            Series::new("…with egg white", Look::Treatment, curve(1.08, -0.2)),
            Series::new(
                "pulled from the belt",
                Look::Points,
                [(4.0, 28.1), (8.0, 20.9), (12.0, 11.6), (16.0, 7.1)],
            )
            .marked(Mark::Filled),
        ],
        zones: [
            ("warm-up", 0.0, 4.0),
            ("bake 1", 4.0, 9.0),
            ("bake 2", 9.0, 14.0),
            ("dry", 14.0, 18.0),
        ]
        .map(|(name, from, to)| Zone {
            name: name.into(),
            from,
            to,
        })
        .to_vec(),
        levels: vec![Level {
            name: "target".into(),
            low: 7.0,
            high: 9.0,
        }],
    }
}

fn temperatures() -> LineChart {
    let curve = |lag: f64| {
        (0..=36).map(move |i| {
            let t = f64::from(i) * 0.5;
            let v = 30.0 + 75.0 * (1.0 - (-t / lag).exp()) + 1.5 * (t - 9.0).max(0.0);
            (
                t,
                if (11.0..12.0).contains(&t) {
                    f64::NAN
                } else {
                    v
                },
            )
        })
    };
    LineChart {
        title: "Temperature in the piece".into(),
        note: "one thermocouple fell out between 11 and 12 min".into(),
        x: Axis::new("time", "min"),
        y: Axis::new("temperature", "°C"),
        series: vec![
            Series::new("surface", Look::Treatment, curve(2.0)),
            Series::new("half way", Look::Treatment, curve(3.4)),
            Series::new("centre", Look::Treatment, curve(4.6)),
        ],
        zones: Vec::new(),
        levels: vec![Level {
            name: "kill step counts from here".into(),
            low: 80.0,
            high: 80.0,
        }],
    }
}

fn section(ramp: Ramp) -> HeatStrip {
    let (rows, cells) = (24, 90);
    let value = |r: usize, c: usize| {
        let (x, y) = (
            c as f64 / (cells - 1) as f64 * 2.0 - 1.0,
            r as f64 / (rows - 1) as f64 * 2.0 - 1.0,
        );
        if x.abs().powi(6) + y.abs().powi(6) * 0.55 > 1.0 {
            return f64::NAN;
        }
        let near = (1.0 - x.abs().powi(4)) * (1.0 - 0.9 * y * y);
        match ramp {
            Ramp::Temperature => 128.0 - 42.0 * near,
            Ramp::Moisture => 5.0 + 13.0 * near,
            Ramp::Crust => 36.0 - 14.0 * near,
        }
    };
    let hot = ramp == Ramp::Temperature;
    HeatStrip {
        title: if hot {
            "Temperature across the piece at 9.0 min"
        } else {
            "Moisture across the piece at 9.0 min"
        }
        .into(),
        note: String::new(),
        rows: (0..rows)
            .map(|r| (0..cells).map(|c| value(r, c)).collect())
            .collect(),
        ramp,
        quantity: if hot { "temperature" } else { "moisture" }.into(),
        unit: if hot { "°C" } else { "%" }.into(),
        range: Some(if hot { (80.0, 130.0) } else { (4.0, 20.0) }),
        aspect: 0.16,
        edges: ["top".into(), "belt".into(), "62 mm".into()],
    }
}

fn masses() -> Ribbon {
    let stage = |name: &str, dry: f64, water: f64, steam: &str, trim: &str| RibbonStage {
        name: name.into(),
        dry,
        water,
        water_lost_as: steam.into(),
        dry_lost_as: trim.into(),
    };
    Ribbon {
        title: "From mix to pack".into(),
        note: "dry matter above the seam, water below it".into(),
        unit: "kg per t packed".into(),
        places: 0,
        stages: vec![
            stage("mixed", 992.0, 450.0, "", ""),
            stage("sheeted", 971.0, 440.0, "with trim", "trim"),
            stage("baked", 968.0, 85.0, "steam", "crumbs"),
            stage("cooled", 944.0, 80.0, "steam", "broken"),
            stage("packed", 920.0, 80.0, "", "samples"),
        ],
    }
}

fn stations() -> Bars {
    let bar = |name: &str, value: Option<f64>, word: &str| Bar {
        name: name.into(),
        value,
        limits: None,
        word: word.into(),
    };
    Bars {
        title: "What each station can do".into(),
        note: String::new(),
        unit: "kg/h".into(),
        places: 0,
        bars: vec![
            bar("mixer", Some(640.0), ""),
            bar("sheeter and cutter", Some(720.0), ""),
            Bar {
                limits: Some((371.0, 402.0)),
                ..bar("oven", Some(379.0), "bottleneck")
            },
            bar("cooling belt", Some(560.0), ""),
            bar("packing", None, ""),
        ],
        level: Some(("wanted".into(), 420.0)),
        reach: None,
    }
}

fn cost() -> Stack {
    let row = |name: &str, values: [Option<f64>; 6]| StackRow {
        name: name.into(),
        values: values.to_vec(),
    };
    Stack {
        title: "Cost per kilogram, built up".into(),
        note: "in the book's currency; packing of the last is not known".into(),
        unit: "per kg".into(),
        places: 2,
        parts: [
            "materials",
            "energy",
            "labour",
            "oven time",
            "losses",
            "packing",
        ]
        .map(String::from)
        .to_vec(),
        rows: vec![
            row(
                "Control",
                [
                    Some(0.82),
                    Some(0.11),
                    Some(0.34),
                    Some(0.29),
                    Some(0.05),
                    Some(0.22),
                ],
            ),
            row(
                "Barley",
                [
                    Some(0.79),
                    Some(0.12),
                    Some(0.34),
                    Some(0.32),
                    Some(0.06),
                    Some(0.22),
                ],
            ),
            row(
                "Rice & chickpea",
                [
                    Some(1.31),
                    Some(0.12),
                    Some(0.36),
                    Some(0.31),
                    Some(0.11),
                    Some(0.22),
                ],
            ),
            row(
                "…with egg white",
                [
                    Some(1.58),
                    Some(0.11),
                    Some(0.36),
                    Some(0.28),
                    Some(0.04),
                    None,
                ],
            ),
        ],
    }
}

fn forces() -> DotPlot {
    let dot = |name: &str, mean: f64, half: f64, letters: &str| Dot {
        name: name.into(),
        mean,
        limits: Some((mean - half, mean + half)),
        observations: [-1.3, -0.6, -0.1, 0.2, 0.7, 1.1]
            .map(|k| mean + k * half * 1.4)
            .to_vec(),
        letters: letters.into(),
    };
    DotPlot {
        title: "Force to break".into(),
        note: "means with 95 % intervals; treatments that share a letter were not shown to differ"
            .into(),
        axis: Axis::new("breaking force", "N"),
        dots: vec![
            dot("Control", 41.2, 3.1, "a"),
            dot("Barley", 38.4, 3.3, "a"),
            dot("Rice & chickpea", 24.9, 4.2, "b"),
            dot("…with egg white", 35.8, 2.9, "ab"),
        ],
        levels: vec![("survives packing".into(), 30.0)],
    }
}

fn residuals() -> Residuals {
    let points = (0..28).map(|i| {
        let x = 24.0 + f64::from(i % 4) * 5.6;
        (
            x,
            5.0 * (f64::from(i) * 2.399).sin() * (0.4 + f64::from(i % 7) / 8.0),
        )
    });
    Residuals {
        title: "What the model leaves over".into(),
        note: "no drift, no fan: the spread is even".into(),
        response: "breaking force".into(),
        unit: "N".into(),
        points: points.collect(),
    }
}

fn interaction() -> Interaction {
    let at = |m: f64| Some((m, m - 2.0, m + 2.0));
    Interaction {
        title: "Fat and flour act together".into(),
        note: String::new(),
        y: Axis::new("breaking force", "N"),
        factor: "fat".into(),
        levels: vec!["sunflower".into(), "poultry".into()],
        lines: vec![
            InteractionLine {
                name: "wheat".into(),
                means: vec![at(41.0), at(39.2)],
            },
            InteractionLine {
                name: "barley".into(),
                means: vec![at(38.5), at(31.0)],
            },
            InteractionLine {
                name: "rice & chickpea".into(),
                means: vec![at(25.0), at(29.8)],
            },
        ],
    }
}

fn power() -> PowerCurve {
    let line = |d: f64| {
        (2..=14).map(move |n| {
            let n = f64::from(n);
            (n, 100.0 / (1.0 + (-(d * n.sqrt() - 3.2)).exp()))
        })
    };
    PowerCurve {
        title: "How many batches?".into(),
        note: String::new(),
        lines: [("3 N", 0.9), ("5 N", 1.6), ("8 N", 2.4)]
            .map(|(n, d)| (n.into(), line(d).collect()))
            .to_vec(),
        wanted_percent: 80.0,
    }
}

fn mixture() -> Ternary {
    let m = 24;
    let mut values = Vec::new();
    for i in 0..=m {
        for j in 0..=m - i {
            let [a, b, c] = [i, j, m - i - j].map(|v| v as f64 / m as f64);
            let v = 41.0 * a + 24.0 * b + 30.0 * c + 38.0 * a * c + 12.0 * b * c;
            values.push(if b > 0.85 { f64::NAN } else { v });
        }
    }
    let point = |name: &str, shares, measured| TernaryPoint {
        name: name.into(),
        shares,
        measured,
    };
    Ternary {
        title: "Force over the flour mixture".into(),
        note: "shaded where the bite is kept; filled: baked, open: proposed next".into(),
        parts: ["barley".into(), "chickpea".into(), "rice".into()],
        quantity: "breaking force".into(),
        unit: "N".into(),
        divisions: m,
        values,
        wanted: Some((38.0, 44.0)),
        points: vec![
            point("", [1.0, 0.0, 0.0], true),
            point("", [0.0, 0.0, 1.0], true),
            point("", [0.5, 0.5, 0.0], true),
            point("", [1.0, 1.0, 1.0], true),
            point("next", [0.42, 0.08, 0.5], false),
        ],
    }
}
