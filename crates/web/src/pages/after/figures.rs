//! Tables of the time after the oven: every treatment beside the control, the days to each limit by two ways, what
//! would help, and what grows.

use app::{AfterOf, Units};
use maud::{Markup, html};
use measure::rounding;
use paper::number;
use paper::parts::{Cell, Group, Known, Row, SideBySide, known};
use study::views::after_oven::{AfterAnswer, Changed, KeepingTold};

/// Days until a limit, or that it isn't reached in the time that was followed.
pub(super) fn days(value: Option<f64>, k: &KeepingTold) -> String {
    match value {
        Some(d) if d <= 0.0 => "not at all".to_owned(),
        Some(d) => format!("{} days", number::fixed(d, 0)),
        None => format!(
            "over {} days",
            number::fixed(k.days.last().copied().unwrap_or(f64::NAN), 0)
        ),
    }
}

/// What more of it is called, and less of it, where one way is better.
type Words = Option<[&'static str; 2]>;

type RowOf = (
    &'static str,
    &'static str,
    usize,
    Words,
    fn(&AfterAnswer) -> Option<f64>,
);

const COOLING: [RowOf; 3] = [
    (
        "time to packing temperature",
        "min",
        1,
        Some(["longer", "shorter"]),
        |a| a.cooling.to_35_c_min,
    ),
    ("temperature when packed", "°C", 0, None, |a| {
        a.cooling.mean_c.last().copied()
    }),
    ("moisture when packed", "%", 1, None, |a| {
        Some(a.checking.mean_moisture_pct)
    }),
];
const EVENING: [RowOf; 3] = [
    (
        "middle less surfaces when packed",
        "points",
        2,
        Some(["less even", "more even"]),
        |a| Some(a.checking.centre_surface_points),
    ),
    (
        "wettest less driest when packed",
        "points",
        2,
        Some(["less even", "more even"]),
        |a| a.evening.unevenness_points.first().copied(),
    ),
    ("until half of that is left", "h", 1, None, |a| {
        a.evening.half_hours
    }),
];
const CHECKING: [RowOf; 2] = [
    ("checking index", "", 2, Some(["higher", "lower"]), |a| {
        Some(a.checking.greatest)
    }),
    ("hour of greatest risk", "h", 1, None, |a| {
        Some(a.checking.at_hours)
    }),
];
const KEEPING: [RowOf; 4] = [
    ("water activity when packed", "", 2, None, |a| {
        a.keeping.water_activity.first().copied()
    }),
    (
        "days to the crispness limit",
        "days",
        0,
        Some(["longer", "shorter"]),
        |a| a.keeping.crisp_days,
    ),
    (
        "days to water activity 0.65",
        "days",
        0,
        Some(["longer", "shorter"]),
        |a| a.keeping.mould_days,
    ),
    (
        "water activity at the end",
        "",
        2,
        Some(["higher", "lower"]),
        |a| a.keeping.water_activity.last().copied(),
    ),
];

/// Every treatment beside the control, in the order of time.
pub(super) fn side_by_side(afters: &[AfterOf], units: Units) -> Markup {
    let group = |name: &str, rows: &[RowOf]| Group {
        name: name.to_owned(),
        rows: rows.iter().map(|row| one_row(afters, row, units)).collect(),
    };
    paper::parts::side_by_side(&SideBySide {
        caption: "Treatments beside the control".to_owned(),
        row_head: String::new(),
        columns: afters.iter().map(|a| a.name.clone()).collect(),
        groups: vec![
            group("cooling", &COOLING),
            group("evening-out", &EVENING),
            group("checking, an index to compare by", &CHECKING),
            group("keeping", &KEEPING),
        ],
    })
}

fn one_row(afters: &[AfterOf], (name, unit, places, words, value): &RowOf, units: Units) -> Row {
    let of = |a: &AfterOf| a.told.as_deref().and_then(value).filter(|v| v.is_finite());
    let control = afters.first().and_then(of);
    let cells = afters.iter().map(|a| match (of(a), &a.told) {
        (None, None) => Cell::unknown(a.why.clone()),
        (None, Some(_)) => Cell::unknown("not within the time that was followed"),
        (Some(v), _) => {
            let places = units.decimals(unit, *places);
            let shown = |v: f64| units.value(v, unit);
            let gap = control.map_or(0.0, |c| rounding::shown_gap(shown(v), shown(c), places));
            let word = words.map(|[more, less]| if gap > 0.0 { more } else { less });
            Cell::number(shown(v), places).change(gap, places, word)
        }
    });
    Row {
        name: (*name).to_owned(),
        unit: units.unit(unit),
        cells: cells.collect(),
        sum: false,
    }
}

/// Days to each limit by the exact integration and by the textbook's closed form, and the film's own spread.
pub(super) fn limits(a: &AfterAnswer) -> Markup {
    let k = &a.keeping;
    let closed = |d: Option<f64>| match d {
        Some(d) if d <= 0.0 => "not at all".to_owned(),
        Some(d) if d > 3650.0 => "over 10 years".to_owned(),
        Some(d) => format!("{} days", number::fixed(d, 0)),
        None => "never".to_owned(),
    };
    html! {
        h3 { "How long it keeps in " (k.film) }
        table .limits {
            thead { tr { th scope="col" { "limit" } th .figure scope="col" { "integrated" } th .figure scope="col" { "textbook" } } }
            tbody {
                tr { th scope="row" { "crisp, water activity " (number::fixed(k.crisp_water_activity, 2)) } td .figure { (days(k.crisp_days, k)) } td .figure { (closed(k.crisp_days_closed_form)) } }
                tr { th scope="row" { "moulds, water activity 0.65" } td .figure { (days(k.mould_days, k)) } td .figure { (closed(k.mould_days_closed_form)) } }
            }
        }
        p .second {
            "Integrated: the piece’s own isotherm and the climate month by month. Textbook: one straight isotherm in the mean climate; where the two part, the isotherm bends or a season warms the pack."
            @if let Some((tight, leaky)) = k.crisp_days_range {
                " With the leakiest and the tightest film of that kind crispness lasts " (days(leaky, k)) " and " (days(tight, k)) "."
            }
        }
    }
}

/// The one plain sentence.
pub(super) fn uncalibrated() -> Markup {
    html! { p { "The checking index isn’t calibrated: compare treatments by it and don’t read it as a share of cracked pieces." } }
}

/// What the changes of the trade do, each baked again to the same dryness.
pub(super) fn changes(a: &AfterAnswer, changes: &[Changed]) -> Markup {
    let mut order: Vec<&Changed> = changes.iter().collect();
    order.sort_by(|a, b| a.index.total_cmp(&b.index));
    html! {
        div .scroll role="region" aria-label="What helps against checking" tabindex="0" {
            table .helps-against {
                thead { tr {
                    th scope="col" { "change, baked to the same dryness" } th .figure scope="col" { "index" } th .figure scope="col" { "less or more, %" }
                    th .figure scope="col" { "oven, min" } th .figure scope="col" { "middle less surfaces, points" } th scope="col" {}
                } }
                tbody {
                    tr .as-it-is {
                        th scope="row" { "as it is" } td .figure { (number::fixed(a.checking.greatest, 2)) } td {}
                        td .figure { (number::fixed(a.bake_time_min, 1)) } td .figure { (number::fixed(a.checking.centre_surface_points, 2)) } td {}
                    }
                    @for c in order {
                        tr {
                            th scope="row" { (c.change.word()) }
                            td .figure { (number::fixed(c.index, 2)) }
                            td .figure { (rounding::signed(100.0 * c.relative, 0)) }
                            td .figure { (number::fixed(c.bake_time_s / 60.0, 1)) }
                            td .figure { (number::fixed(c.centre_surface_points, 2)) }
                            td .second { @if !c.met { "the dryness isn’t reached" } }
                        }
                    }
                }
            }
        }
    }
}

/// The limits of growth with their sources, and the usual caution.
pub(super) fn growth(a: &AfterAnswer) -> Markup {
    html! {
        p { "Nothing here says that what doesn’t grow dies: Salmonella survives in dry biscuits for months. Kill step and hygiene are for a process authority and the local code to judge; measure water activity on packed product." }
        table .growth {
            thead { tr { th scope="col" { "doesn’t grow below" } th .figure scope="col" { "water activity" } th scope="col" { "how it is known" } } }
            tbody {
                @for g in &a.growth {
                    @let (low, high) = g.water_activity;
                    @let text = if high - low < 1e-9 { number::fixed(low, 2) } else { format!("{} to {}", number::fixed(low, 2), number::fixed(high, 2)) };
                    tr {
                        th scope="row" { (g.what) }
                        td .figure { (known(&text, Known::from(g.source.grade))) }
                        td .source { (g.source.grade.word()) ": " (g.source.text) }
                    }
                }
            }
        }
    }
}
