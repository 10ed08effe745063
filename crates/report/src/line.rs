//! The line: what each station can give, what a kilogram costs, where the mass goes.

use maud::{Markup, html};
use measure::{Units, rounding::decimals_for};
use paper::chart::{Bar, Bars, Ribbon, RibbonStage, Stack, StackRow, bars, ribbon, stack};
use paper::number;
use paper::parts::{Cell, Group, Row, SideBySide, side_by_side};
use study::Compared;
use study::views::knock_on::KnockOn;

/// What each station could give alone: as bars for the control, as a table for all; the station
/// that limits the line is named. The first of `compared` is the control.
pub fn line_stations(compared: &[Compared]) -> Markup {
    let Some(control) = compared.first() else {
        return html! {};
    };
    html! {
        (station_bars(&control.answer, &format!("What each station could give alone: {}", control.answer.name), None, Units::Metric))
        (stations_beside(compared, Units::Metric))
    }
}

/// What each station could give alone in every treatment, as a table; nothing for a single one.
pub fn stations_beside(compared: &[Compared], units: Units) -> Markup {
    html! { @if compared.len() > 1 { (in_blocks(compared, |columns| station_table(columns, units))) } }
}

/// The largest capacity of all stations and treatments, for drawings on one scale.
pub fn largest_capacity(compared: &[Compared]) -> Option<f64> {
    let all = compared.iter().flat_map(|c| &c.answer.line.stations);
    all.map(|s| s.capacity_kg_per_h)
        .filter(|c| c.is_finite())
        .max_by(f64::total_cmp)
}

/// Columns that fit on paper: nothing here has a difference beside it.
const ON_PAPER: usize = 8;

/// One table on screen; on paper blocks of columns that each begin with the control.
fn in_blocks(compared: &[Compared], table: impl Fn(&[&Compared]) -> Markup) -> Markup {
    let (control, rivals) = (&compared[0], &compared[1..]);
    let blocks: Vec<Vec<&Compared>> = rivals
        .chunks(ON_PAPER - 1)
        .map(|r| std::iter::once(control).chain(r).collect())
        .collect();
    let all: Vec<&Compared> = compared.iter().collect();
    html! {
        div .study-sheet {
            div .on-screen[blocks.len() > 1] { (table(&all)) }
            @if blocks.len() > 1 {
                div .on-paper aria-hidden="true" { @for block in &blocks { (table(block)) } }
            }
        }
    }
}

/// What each station of one treatment could give alone, as bars that reach at least `reach` kg/h.
pub fn station_bars(k: &KnockOn, title: &str, reach: Option<f64>, units: Units) -> Markup {
    let shown = |kg_per_h: f64| units.value(kg_per_h, "kg/h");
    let limits = |name: &str| name == k.line.bottleneck;
    let places = decimals_for(shown(k.line.output_kg_per_h), 0);
    bars(&Bars {
        title: title.to_owned(),
        note: format!(
            "the line gives {} {}",
            number::fixed(shown(k.line.output_kg_per_h), places),
            units.unit("kg/h")
        ),
        unit: units.unit("kg/h"),
        places: 0,
        bars: k
            .line
            .stations
            .iter()
            .map(|s| Bar {
                name: s.name.clone(),
                value: s
                    .capacity_kg_per_h
                    .is_finite()
                    .then_some(shown(s.capacity_kg_per_h)),
                limits: None,
                word: if limits(&s.name) {
                    "limits the line".to_owned()
                } else {
                    String::new()
                },
            })
            .collect(),
        level: None,
        reach: reach.map(shown),
    })
}

/// How much of every station is in use, and how its capacity comes about.
pub fn stations_in_words(k: &KnockOn, units: Units) -> Markup {
    html! {
        table .stations {
            caption { "How each capacity comes about" }
            thead { tr {
                th scope="col" { "station" }
                th .figure scope="col" { "alone, " (units.unit("kg/h")) }
                th .figure scope="col" { "in use, %" }
                th scope="col" { "from" }
            } }
            tbody {
                @for s in &k.line.stations {
                    @let limits = s.name == k.line.bottleneck;
                    tr .limits-line[limits] {
                        th scope="row" { (s.name) @if limits { span .second { " limits the line" } } }
                        @let capacity = units.value(s.capacity_kg_per_h, "kg/h");
                        td .figure { (number::fixed(capacity, decimals_for(capacity, 0))) }
                        td .figure { (number::fixed(100.0 * s.use_fraction, 0)) }
                        td .words { (s.how) }
                    }
                }
            }
        }
    }
}

fn station_table(columns: &[&Compared], units: Units) -> Markup {
    let mut names: Vec<&str> = Vec::new();
    for s in columns.iter().flat_map(|c| &c.answer.line.stations) {
        if !names.contains(&s.name.as_str()) {
            names.push(&s.name);
        }
    }
    let rows = names.iter().map(|name| Row {
        name: (*name).to_owned(),
        unit: units.unit("kg/h"),
        cells: columns
            .iter()
            .map(|c| station_cell(&c.answer, name, units))
            .collect(),
        sum: false,
    });
    side_by_side(&SideBySide {
        caption: "Stations of every treatment".to_owned(),
        row_head: "could give alone, saleable".to_owned(),
        columns: columns.iter().map(|c| c.answer.name.clone()).collect(),
        groups: vec![Group {
            name: String::new(),
            rows: rows.collect(),
        }],
    })
}

fn station_cell(k: &KnockOn, name: &str, units: Units) -> Cell {
    let Some(station) = k.line.stations.iter().find(|s| s.name == name) else {
        return Cell::empty();
    };
    let capacity = units.value(station.capacity_kg_per_h, "kg/h");
    let cell = Cell::number(capacity, decimals_for(capacity, 0));
    if k.line.bottleneck == name {
        // Before the number and not as a difference from the control, which has a limit itself.
        cell.picture(html! { span .second { "limits" } })
    } else {
        cell
    }
}

/// What a saleable kilogram costs, built up, for all treatments.
pub fn cost_build_up(compared: &[Compared], units: Units) -> Markup {
    let Some(control) = compared.first() else {
        return html! {};
    };
    let per_kg = format!("{}/kg", control.answer.cost.currency);
    let mass = match units {
        Units::Metric => "kilogram",
        Units::Us => "pound",
    };
    stack(&Stack {
        title: format!("Cost of a saleable {mass}"),
        note: format!("what a {mass} of whole pieces within the label weight costs"),
        unit: units.unit(&per_kg),
        places: 2,
        parts: ["ingredients", "pack", "people and plant", "heat"]
            .map(String::from)
            .to_vec(),
        rows: compared
            .iter()
            .map(|c| {
                let cost = &c.answer.cost;
                let known = |v: f64| Some(units.value(v, &per_kg)).filter(|v| v.is_finite());
                StackRow {
                    name: c.answer.name.clone(),
                    values: vec![
                        cost.ingredients_per_kg.and_then(known),
                        cost.pack_per_kg.and_then(known),
                        cost.people_and_plant_per_kg.and_then(known),
                        cost.heat_per_kg.and_then(known),
                    ],
                }
            })
            .collect(),
    })
}

/// Where the mass of a piece goes from the cut dough to the pack.
pub fn mass_ribbon(k: &KnockOn, units: Units) -> Markup {
    ribbon(&Ribbon {
        title: format!("Where the mass of a piece goes: {}", k.name),
        note: "dry matter above the seam, water below it".to_owned(),
        unit: format!("{} per piece", units.unit("g")),
        places: units.decimals("g", 2),
        stages: k
            .piece
            .mass
            .iter()
            .map(|m| {
                let (water_lost_as, dry_lost_as) = match m.place {
                    "oven exit" => ("steam", "leavening gas"),
                    "packed" => ("vapour", ""),
                    _ => ("", ""),
                };
                RibbonStage {
                    name: m.place.to_owned(),
                    dry: units.value(m.dry_g, "g"),
                    water: units.value(m.water_g, "g"),
                    water_lost_as: water_lost_as.to_owned(),
                    dry_lost_as: dry_lost_as.to_owned(),
                }
            })
            .collect(),
    })
}
