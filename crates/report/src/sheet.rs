//! The side-by-side sheet: the formulas, and under them what they do.

use crate::bake::SHOWN_PAST_THE_OVEN;
use formula::{Formula, Nutrient, Stage};
use maud::{Markup, html};
use measure::{Severity, rounding};
use paper::chart::spark;
use paper::number;
use paper::parts::{Cell, Change, Group, Known, Row, Sense, SideBySide, side_by_side};
use std::collections::HashMap;
use study::answer::KnockOn;
use study::figure::{Better, Part};
use study::spread::Limits;
use study::study::WaterChoice;
use study::{Compared, Figure, Study};

/// What amounts are told per.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Per {
    /// The whole mix makes 100.
    #[default]
    Mix,
    /// The flour lines make 100.
    Flour,
    /// The dry matter of all lines makes 100.
    DryMatter,
}

impl Per {
    /// Every way.
    pub const ALL: [Self; 3] = [Self::Mix, Self::Flour, Self::DryMatter];

    /// The words shown to people.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Mix => "per cent of mix",
            Self::Flour => "per cent of flour",
            Self::DryMatter => "per cent of dry matter",
        }
    }

    /// Amounts line by line; none when no line counts as flour.
    fn amounts(self, formula: &Formula) -> Option<Vec<f64>> {
        match self {
            Self::Mix => Some(formula.percent_of_mix()),
            Self::Flour => formula.percent_of_flour(),
            Self::DryMatter => Some(formula.percent_of_dry_matter()),
        }
    }
}

/// Rivals beside the control on one printed page.
const RIVALS_ON_PAPER: usize = 3;

/// The sheet: materials by stage, their sum, the water with its need, and the knock-on of each
/// treatment beside the control.
///
/// On screen it is one table that scrolls under its heads; on paper it stands in blocks of columns,
/// each with the control. The first of `compared` is the control.
pub fn sheet(study: &Study, compared: &[Compared], per: Per) -> Markup {
    let columns: Vec<Column> = compared.iter().map(|c| Column::new(study, c, per)).collect();
    let Some((control, rivals)) = columns.split_first() else {
        return html! {};
    };
    let frame = Frame::of(&columns);
    let all: Vec<&Column> = columns.iter().collect();
    let blocks: Vec<Vec<&Column>> = rivals
        .chunks(RIVALS_ON_PAPER)
        .map(|rivals| std::iter::once(control).chain(rivals).collect())
        .collect();
    html! {
        div .study-sheet .paged {
            div .on-screen[blocks.len() > 1] { (table(study, &all, per, &frame)) }
            @if blocks.len() > 1 {
                div .on-paper aria-hidden="true" { @for block in &blocks { (table(study, block, per, &frame)) } }
            }
            (legend(compared))
        }
    }
}

fn legend(compared: &[Compared]) -> Markup {
    let spread = compared.iter().find_map(|c| c.spread.as_ref());
    html! {
        p .second .legend {
            "Beside each number stands its difference from the control, with ▲ for better and ▼ for worse where a direction is better. "
            "“new” is a material that the control doesn’t have. Dotted underline: assumed or recalled. ≥: at least, a material’s value is unknown."
            @if let Some(s) = spread {
                " The rows marked 95 % hold 95 of 100 draws (" (s.draws) " draws, seed " (s.seed) "); differences come from paired draws, and one whose limits hold zero gets no arrow."
            }
        }
    }
}

/// A treatment as it stands in the sheet.
struct Column<'a> {
    compared: &'a Compared,
    /// Amount by stage and material; none when the basis has no meaning for the formula.
    amounts: Option<HashMap<(Stage, String), f64>>,
    lines: Vec<(Stage, String, String, bool)>,
    need: Option<(f64, f64, f64)>,
    water_from_need: bool,
}

impl<'a> Column<'a> {
    fn new(study: &Study, compared: &'a Compared, per: Per) -> Self {
        let answer = &compared.answer;
        let Some(treatment) = study.treatment(&answer.id) else {
            return Self { compared, amounts: None, lines: Vec::new(), need: None, water_from_need: false };
        };
        // The formula as it is made: with the water that the answer was worked out for.
        let with = |water: f64| treatment.formula.with_water(water).ok();
        let made = with(answer.dough.water_added_kg_per_100kg_dry_mix)
            .unwrap_or_else(|| treatment.formula.clone());
        let water = |kg: f64| {
            let formula = with(kg)?;
            let amounts = per.amounts(&formula)?;
            Some(formula.lines().iter().zip(amounts).filter(|(l, _)| l.material.is_water()).map(|(_, a)| a).sum())
        };
        let need = answer.dough.water_need;
        let need = match per {
            Per::DryMatter => None,
            Per::Mix | Per::Flour => {
                water(need.mean).zip(water(need.low95)).zip(water(need.high95)).map(|((m, l), h)| (m, l, h))
            }
        };
        let lines: Vec<_> = made
            .lines()
            .iter()
            .map(|l| (l.stage, l.material.id.clone(), l.material.name.clone(), l.material.is_water()))
            .collect();
        let amounts = per
            .amounts(&made)
            .map(|a| lines.iter().zip(a).map(|(l, a)| ((l.0, l.1.clone()), a)).collect());
        Self { compared, amounts, lines, need, water_from_need: treatment.water == WaterChoice::FromNeed }
    }

    fn answer(&self) -> &'a KnockOn {
        &self.compared.answer
    }

    fn amount(&self, stage: Stage, id: &str) -> Option<f64> {
        self.amounts.as_ref()?.get(&(stage, id.to_owned())).copied().filter(|a| *a > 0.0)
    }
}

/// What all blocks of a sheet share, so that they read as one.
struct Frame {
    rows: Vec<(Stage, String, String, bool)>,
    decimals: usize,
    minutes: f64,
    moisture: f64,
}

impl Frame {
    fn of(columns: &[Column]) -> Self {
        let mut rows: Vec<(Stage, String, String, bool)> = Vec::new();
        for line in columns.iter().flat_map(|c| &c.lines) {
            if !rows.iter().any(|r| r.0 == line.0 && r.1 == line.1) {
                rows.push(line.clone());
            }
        }
        rows.sort_by_key(|r| r.3);
        let amounts = columns.iter().filter_map(|c| c.amounts.as_ref()).flat_map(|a| a.values());
        let small = amounts.copied().filter(|a| *a > 0.0).fold(f64::INFINITY, f64::min);
        let most = |values: &mut dyn Iterator<Item = f64>| values.filter(|v| v.is_finite()).fold(0.0, f64::max);
        let answers = || columns.iter().map(|c| &c.answer().bake);
        Self {
            rows,
            decimals: if small < 1.0 { 2 } else { 1 },
            minutes: SHOWN_PAST_THE_OVEN * most(&mut answers().map(|b| b.time_min)),
            moisture: most(&mut answers().flat_map(|b| b.curve.moisture_pct.iter().copied())),
        }
    }
}

fn table(study: &Study, columns: &[&Column], per: Per, frame: &Frame) -> Markup {
    let mut groups = amount_groups(columns, per, frame);
    let parts = [Part::Dough, Part::Bake, Part::Line, Part::Nutrition, Part::Cost];
    groups.extend(parts.map(|part| Group {
        name: part.word().to_owned(),
        rows: Figure::ALL
            .into_iter()
            .filter(|f| f.about().part == part)
            .flat_map(|f| figure_rows(study, columns, f, frame))
            .collect(),
    }));
    groups.push(notice(columns));
    side_by_side(&SideBySide {
        caption: format!("Side by side, target: {}", crate::target_words(study)),
        row_head: per.words().to_owned(),
        columns: columns.iter().map(|c| c.answer().name.clone()).collect(),
        groups,
    })
}

fn amount_groups(columns: &[&Column], per: Per, frame: &Frame) -> Vec<Group> {
    let mut groups = Vec::new();
    for stage in Stage::ALL {
        let mut rows = Vec::new();
        for (_, id, name, water) in frame.rows.iter().filter(|r| r.0 == stage) {
            let used = |c: &&Column| c.amounts.is_none() || c.amount(stage, id).is_some();
            if !*water && !columns.iter().any(used) {
                continue;
            }
            let cells = columns.iter().map(|c| amount_cell(c, columns[0], stage, id, *water, frame.decimals));
            rows.push(row(name, "", cells.collect()));
            if *water && columns.iter().any(|c| c.need.is_some()) {
                rows.push(row("needs", "", columns.iter().map(|c| need_cell(c)).collect()));
            }
        }
        if !rows.is_empty() {
            groups.push(Group { name: stage.word().to_owned(), rows });
        }
    }
    let sums = columns.iter().map(|c| match &c.amounts {
        Some(a) => Cell::number(a.values().sum(), frame.decimals),
        None => Cell::unknown(format!("no line counts as flour, so nothing can be told {}", per.words())),
    });
    groups.push(Group {
        name: String::new(),
        rows: vec![Row { sum: true, ..row("sum", "", sums.collect()) }],
    });
    groups
}

fn amount_cell(column: &Column, control: &Column, stage: Stage, id: &str, water: bool, decimals: usize) -> Cell {
    if column.amounts.is_none() {
        return Cell::unknown("no line counts as flour");
    }
    match (column.amount(stage, id), control.amount(stage, id)) {
        (None, None) => Cell::empty(),
        (None, Some(there)) => Cell::empty().change(-there, decimals, Sense::Neutral),
        (Some(here), there) => {
            let from_need = water && column.water_from_need;
            let cell = Cell::number(here, decimals).known(if from_need { Known::Assumed } else { Known::Calculated });
            match there {
                Some(there) => cell.change(here - there, decimals, Sense::Neutral),
                None if control.amounts.is_some() => Cell { change: Some(neutral("new")), ..cell },
                None => cell,
            }
        }
    }
}

fn need_cell(column: &Column) -> Cell {
    match column.need {
        Some((mean, low, high)) => Cell::text(number::interval(mean, low, high)).known(Known::Assumed),
        None => Cell::unknown("the need can’t be told per cent of flour: no line counts as flour"),
    }
}

fn figure_rows(study: &Study, columns: &[&Column], figure: Figure, frame: &Frame) -> Vec<Row> {
    let about = figure.about();
    let cells: Vec<Cell> = columns.iter().map(|c| figure_cell(c, figure, frame)).collect();
    let mut rows = vec![row(about.name, &about.unit.replace('¤', &study.currency), cells)];
    let limits = |c: &Column| c.compared.spread.as_ref()?.figures.get(about.key).copied();
    if columns.iter().any(|c| limits(c).is_some_and(|l| shows(l, about.decimals))) {
        let cells = columns.iter().map(|c| Cell {
            change: gap_limits(c, figure).map(|l| neutral(&signed_limits(l, about.decimals))),
            ..limits(c).map_or(Cell::empty(), |l| Cell::text(limits_words(l, about.decimals)))
        });
        rows.push(row("", "95 %", cells.collect()));
    }
    rows
}

fn figure_cell(column: &Column, figure: Figure, frame: &Frame) -> Cell {
    let (about, k) = (figure.about(), column.answer());
    let Some(value) = figure.value(k) else {
        return Cell::unknown(why_unknown(k, figure));
    };
    if let (Figure::BakeTime, Some(limit)) = (figure, &k.bake.limit) {
        return Cell::unknown(format!("the target isn’t reached: {limit}"));
    }
    let shown = number::fixed(value, about.decimals);
    let cell = match figure {
        Figure::WaterNeed => {
            let need = k.dough.water_need;
            Cell::text(number::interval(need.mean, need.low95, need.high95)).known(Known::Assumed)
        }
        Figure::Kill => {
            let shown = k.bake.kill_shown.split(" (").next().unwrap_or(&shown);
            Cell::text(shown).known(Known::Assumed)
        }
        Figure::BakeTime => Cell::text(shown).picture(bake_spark(k, frame)),
        _ if at_least(k, figure).is_some() => Cell::text(format!("≥ {shown}")),
        _ => Cell::text(shown),
    };
    match difference(column.compared, figure) {
        Some(gap) => cell.change(gap, about.decimals, sense(about.better, gap, gap_limits(column, figure))),
        None => cell,
    }
}

/// A difference is called better or worse only when its limits, if there are any, leave no doubt.
fn sense(better: Better, gap: f64, limits: Option<Limits>) -> Sense {
    let doubtful = limits.is_some_and(|l| l.low95 <= 0.0 && l.high95 >= 0.0);
    match better {
        _ if doubtful => Sense::Neutral,
        Better::Neither => Sense::Neutral,
        Better::Higher if gap > 0.0 => Sense::Better,
        Better::Lower if gap < 0.0 => Sense::Better,
        Better::Higher | Better::Lower => Sense::Worse,
    }
}

/// The difference from the control as the answer has it.
fn difference(compared: &Compared, figure: Figure) -> Option<f64> {
    let (part, name) = figure.about().key.split_once('.')?;
    compared.versus_control.get(part)?.get(name)?.as_f64()
}

fn gap_limits(column: &Column, figure: Figure) -> Option<Limits> {
    column.compared.spread.as_ref()?.versus_control.get(figure.about().key).copied()
}

/// The materials that make a figure an "at least".
fn at_least(k: &KnockOn, figure: Figure) -> Option<&[String]> {
    let nutrient = match figure {
        Figure::Protein => Nutrient::CrudeProtein,
        Figure::Fat => Nutrient::CrudeFat,
        Figure::Fibre => Nutrient::CrudeFibre,
        Figure::Ash => Nutrient::Ash,
        Figure::Calcium => Nutrient::Calcium,
        Figure::Phosphorus => Nutrient::Phosphorus,
        Figure::Sodium => Nutrient::Sodium,
        _ => return None,
    };
    k.nutrition.at_least.get(nutrient.word()).map(Vec::as_slice)
}

fn why_unknown(k: &KnockOn, figure: Figure) -> String {
    let cost = matches!(figure, Figure::CostPerKg | Figure::CostPerPiece);
    if cost && !k.cost.unknown_prices.is_empty() {
        format!("no price is known for {}", k.cost.unknown_prices.join(", "))
    } else {
        "the answer doesn’t hold it".to_owned()
    }
}

fn shows(l: Limits, decimals: usize) -> bool {
    number::fixed(l.low95, decimals) != number::fixed(l.high95, decimals)
}

fn limits_words(l: Limits, decimals: usize) -> String {
    format!("{} to {}", number::fixed(l.low95, decimals), number::fixed(l.high95, decimals))
}

fn signed_limits(l: Limits, decimals: usize) -> String {
    format!("{} to {}", rounding::signed(l.low95, decimals), rounding::signed(l.high95, decimals))
}

/// Moisture over time, all treatments on one scale.
fn bake_spark(k: &KnockOn, frame: &Frame) -> Markup {
    const STEPS: usize = 27;
    let curve = &k.bake.curve;
    let values: Vec<f64> = (0..STEPS)
        .map(|i| at(&curve.time_min, &curve.moisture_pct, frame.minutes * i as f64 / (STEPS - 1) as f64))
        .collect();
    spark(&values, Some((0.0, frame.moisture)), "moisture over the bake and the cooling")
}

/// The value of a drawn curve between its points; nothing outside.
fn at(xs: &[f64], ys: &[f64], x: f64) -> f64 {
    let i = xs.partition_point(|v| *v <= x);
    match (i.checked_sub(1), xs.get(i)) {
        (Some(a), Some(next)) => ys[a] + (x - xs[a]) / (next - xs[a]) * (ys[i] - ys[a]),
        (Some(a), None) if xs[a] >= x => ys[a],
        _ => f64::NAN,
    }
}

fn notice(columns: &[&Column]) -> Group {
    let rows = [Severity::Stop, Severity::Warn, Severity::Note].into_iter().filter_map(|severity| {
        let counts: Vec<usize> = columns
            .iter()
            .map(|c| c.answer().findings.iter().filter(|f| f.severity == severity).count())
            .collect();
        let cells = counts.iter().map(|n| if *n == 0 { Cell::empty() } else { Cell::text(n.to_string()) });
        (severity != Severity::Note && counts.iter().any(|n| *n > 0) || severity == Severity::Note)
            .then(|| row(severity.word(), "findings", cells.collect()))
    });
    Group { name: "notice".to_owned(), rows: rows.collect() }
}

fn row(name: &str, unit: &str, cells: Vec<Cell>) -> Row {
    Row { name: name.to_owned(), unit: unit.to_owned(), cells, sum: false }
}

fn neutral(text: &str) -> Change {
    Change { text: text.to_owned(), sense: Sense::Neutral }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_arrow_where_the_limits_hold_zero() {
        let limits = |low95, high95| Some(Limits { low95, high95 });
        assert_eq!(sense(Better::Lower, 1.5, limits(-0.2, 3.0)), Sense::Neutral);
        assert_eq!(sense(Better::Lower, 1.5, limits(0.2, 3.0)), Sense::Worse);
        assert_eq!(sense(Better::Higher, 1.5, None), Sense::Better);
        assert_eq!(sense(Better::Neither, 1.5, None), Sense::Neutral);
    }

    #[test]
    fn a_spark_holds_to_its_curve() {
        let (x, y) = ([0.0, 1.0, 3.0], [30.0, 20.0, 10.0]);
        assert_eq!(at(&x, &y, 2.0), 15.0);
        assert_eq!(at(&x, &y, 3.0), 10.0);
        assert!(at(&x, &y, 3.1).is_nan() && at(&x, &y, -0.1).is_nan());
    }
}
