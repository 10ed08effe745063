//! The live parts of the sheet: everything that can follow from an edit without the table changing
//! its shape. The page is drawn from them, and an answer to an edit sends them alone.

use super::beside::{Place, beside, beside_material, unknown};
use super::figures;
use super::frame::{CellKind, Frame};
use formula::Stage;
use maud::{Markup, html};
use measure::{Severity, rounding};
use paper::number;
use paper::parts::{Known, known};
use report::Per;
use std::collections::BTreeMap;
use study::Figure;
use study::compare::bound::Bound;

/// Live parts by name.
pub type Pieces = BTreeMap<String, String>;

/// All live parts but the reasons, which are worked out for those who ask.
pub fn pieces(f: &Frame) -> Pieces {
    let mut p = Pieces::new();
    let mut put = |key: String, html: Markup| {
        p.insert(key, html.into_string());
    };
    amounts(f, &mut put);
    for figure in Figure::ALL {
        let key = figure.about().key;
        for (i, c) in f.columns.iter().enumerate() {
            put(format!("f.{key}.{}", c.id()), figures::value(f, c, figure));
            if i > 0 {
                put(
                    format!("d.{key}.{}", c.id()),
                    figures::difference(f, c, figure),
                );
            }
        }
    }
    for figure in f.watched() {
        let key = figure.about().key;
        for (i, c) in f.columns.iter().enumerate() {
            put(format!("k.{key}.{}", c.id()), figures::bare(f, c, figure));
            put(format!("kw.{key}.{}", c.id()), figures::was(f, c, figure));
            if i > 0 {
                let gap = figures::difference(f, c, figure);
                put(format!("kd.{key}.{}", c.id()), gap);
            }
        }
    }
    for (i, c) in f.columns.iter().enumerate() {
        // A picture that can't be told from the control's says nothing.
        if i == 0 || figures::curve_differs(f, c) {
            put(format!("curve.{}", c.id()), figures::curve(f, c));
        } else {
            put(
                format!("curve.{}", c.id()),
                html! { span .second { "as control" } },
            );
        }
        if i == 0 || figures::mass_differs(f, c) {
            put(format!("mass.{}", c.id()), figures::masses(f, c));
        } else {
            put(
                format!("mass.{}", c.id()),
                html! { span .second { "as control" } },
            );
        }
        for severity in [Severity::Stop, Severity::Warn, Severity::Note] {
            let found = c.compared.map_or(&[][..], |c| &c.answer.findings);
            let count = found.iter().filter(|f| f.severity == severity).count();
            let told = html! { @if count == 0 { span .empty { "–" } } @else { a href="#findings" { (count) } } };
            put(format!("count.{}.{}", severity.word(), c.id()), told);
        }
    }
    put(
        "so-far".to_owned(),
        super::head::so_far(f.view, f.study, f.settings, None),
    );
    put("state".to_owned(), super::head::state(f.view, f.settings));
    put(
        "problems".to_owned(),
        super::head::problems(f.view, f.settings.units),
    );
    put(
        "limits".to_owned(),
        report::limits_kept(f.study, &f.view.answers.compared, f.settings.units),
    );
    put(
        "findings".to_owned(),
        report::findings(&f.view.answers.compared),
    );
    p
}

fn amounts(f: &Frame, put: &mut dyn FnMut(String, Markup)) {
    let control = f.columns.first();
    for row in &f.rows {
        let key = row.key();
        put(format!("m.{key}"), beside_material(f, row.id()));
        for (i, c) in f.columns.iter().enumerate() {
            let id = c.id();
            let here = f.cell_amount(c, row).filter(|a| *a > 0.0);
            match f.cell_kind(c, row) {
                CellKind::Typed => {}
                kind => put(
                    format!("v.{id}.{key}"),
                    told(f, kind, f.cell_amount(c, row)),
                ),
            }
            if i > 0 {
                let there = control
                    .and_then(|c| f.cell_amount(c, row))
                    .filter(|a| *a > 0.0);
                let own = here.is_some() && c.own(&row.material);
                put(
                    format!("c.{id}.{key}"),
                    html! { (gap(f, here, there)) @if own { span .own { span .unseen { " set here" } } } },
                );
            }
        }
    }
    for c in &f.columns {
        let need = match c.need_on(f.per) {
            Some((mean, low, high)) => {
                let sure = c.compared.map(|c| Figure::WaterNeed.sure(&c.answer));
                let mark = sure.unwrap_or(Bound::Exactly).mark();
                let need = f.mark(&number::interval(mean, low, high));
                known(&format!("{mark}{need}"), Known::Assumed)
            }
            None if f.per == Per::DryMatter => html! { span .empty { "–" } },
            None => unknown("the need isn’t worked out"),
        };
        put(
            format!("n.{}", c.id()),
            html! { (need) (beside(c, &[Place::Water])) },
        );
        let sum = match c.sum(f.per) {
            Some(sum) => html! {
                (f.mark(&number::fixed(sum, f.decimals)))
                @if c.off { span .off { " off 100" span .unseen { ": worked out in proportion until the lines sum to 100" } } }
            },
            None => unknown("no line counts as flour"),
        };
        put(format!("s.{}", c.id()), sum);
    }
}

fn told(f: &Frame, kind: CellKind, amount: Option<f64>) -> Markup {
    let text = amount.map(|a| f.mark(&number::fixed(a, f.decimals)));
    html! {
        @match (text, kind) {
            (Some(text), CellKind::Need) => (known(&text, Known::Assumed)),
            (Some(text), CellKind::Balance) => span .balance title="takes the rest to 100" { (text) },
            (Some(text), _) => (text),
            (None, CellKind::Need) => (unknown("the need isn’t worked out")),
            (None, _) => span .empty { "–" },
        }
    }
}

/// The difference of an amount from the control's.
fn gap(f: &Frame, here: Option<f64>, there: Option<f64>) -> Markup {
    let text = match (here, there) {
        (None, None) => return html! {},
        (Some(_), None) => return html! { "new" },
        (None, Some(there)) => rounding::signed(-there, f.decimals),
        (Some(here), Some(there)) => {
            rounding::signed(rounding::shown_gap(here, there, f.decimals), f.decimals)
        }
    };
    html! { @if text.starts_with(['+', '\u{2212}']) { (f.mark(&text)) } }
}

/// Stages in the order shown.
pub const STAGES: [Stage; 4] = Stage::ALL;

/// A number as it may be typed: the shortest digits of at most two decimals.
pub fn plain(f: &Frame, value: f64) -> String {
    let text = format!("{value:.2}");
    f.mark(text.trim_end_matches('0').trim_end_matches('.'))
}
