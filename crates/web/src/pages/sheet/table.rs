//! The side-by-side table: formulas by stage, and under them what they do.

use super::column::Column;
use super::edits::cell_name;
use super::figures;
use super::frame::{CellKind, Frame, Row};
use super::pieces::{Pieces, STAGES};
use maud::{Markup, PreEscaped, html};
use measure::Severity;
use study::Figure;
use study::compare::figure::Part;
use study::model::Basis;

/// The table with its live parts; without them it is the shape alone.
pub struct Drawn<'a> {
    pub frame: &'a Frame<'a>,
    pub pieces: Option<&'a Pieces>,
}

impl Drawn<'_> {
    fn piece(&self, key: &str) -> PreEscaped<&str> {
        PreEscaped(
            self.pieces
                .and_then(|p| p.get(key))
                .map_or("", String::as_str),
        )
    }

    /// Columns of the table: the row head, the control, two for each other, the one that adds.
    fn width(&self) -> usize {
        2 * self.frame.columns.len() + 1
    }

    pub fn table(&self) -> Markup {
        let f = self.frame;
        html! {
            div .scroll .study-box role="region" aria-label="Study sheet" tabindex="-1" {
                table .study-table {
                    caption .unseen { "Treatments side by side: the control first, then the others with their difference from it" }
                    thead { (self.heads()) (self.strip()) }
                    @for stage in STAGES {
                        @let rows: Vec<&Row> = f.rows.iter().filter(|r| r.stage == stage).collect();
                        @if !rows.is_empty() {
                            tbody .formula {
                                (self.group(stage.word()))
                                @for row in rows {
                                    (self.amounts(row))
                                    @if row.material.is_water() { (self.need()) }
                                }
                            }
                        }
                    }
                    tbody { (self.sum()) (self.add_row()) }
                    @for part in Part::ALL {
                        tbody .block {
                            (self.group(part.word()))
                            @for figure in Figure::ALL {
                                @if figure.about().part == part {
                                    (self.figure(figure))
                                    @if figure == Figure::BakeTime && self.any(figures::curve_differs) { (self.pictures("bake curve", "curve", "mean moisture over bake and cooling, all on one scale")) }
                                    @if figure == Figure::BakedMass && self.any(figures::mass_differs) { (self.pictures("mass of a piece", "mass", "dough, oven exit, packed: dry matter above, water below")) }
                                }
                            }
                        }
                    }
                    tbody .block { (self.group("notice")) @for s in [Severity::Stop, Severity::Warn, Severity::Note] { (self.counts(s)) } }
                }
            }
        }
    }

    /// Whether any treatment's picture can be told from the control's; else the row goes.
    fn any(&self, differs: impl Fn(&Frame, &Column) -> bool) -> bool {
        let f = self.frame;
        f.columns.len() == 1 || f.columns.iter().skip(1).any(|c| differs(f, c))
    }

    fn heads(&self) -> Markup {
        let f = self.frame;
        html! {
            tr {
                th .row-head scope="col" { (f.per.words()) }
                @for (i, c) in f.columns.iter().enumerate() {
                    th .figure .control[i == 0] scope="col" colspan=[(i > 0).then_some("2")] {
                        button .name type="button" popovertarget={ "t-" (c.id()) } { (c.name()) }
                        @if let Some(told) = told_on(c) { span .told-on { (told) } }
                    }
                }
            }
        }
    }

    /// The answers that stay in sight under the treatments' names, wherever one is in the table.
    fn strip(&self) -> Markup {
        html! {
            @for figure in self.frame.watched() {
                @let about = figure.about();
                tr .strip {
                    th .row-head scope="row" { (about.name) @let unit = self.unit(figure); @if !unit.is_empty() { span .unit { ", " (unit) } } }
                    @for (i, c) in self.frame.columns.iter().enumerate() {
                        @let place = format!("{}.{}", about.key, c.id());
                        td .figure .control[i == 0] {
                            span data-p={ "k." (place) } { (self.piece(&format!("k.{place}"))) }
                            span .was data-p={ "kw." (place) } { (self.piece(&format!("kw.{place}"))) }
                            span .open data-p={ "kl." (place) } {}
                        }
                        @if i > 0 {
                            td .change {
                                span data-p={ "kd." (place) } { (self.piece(&format!("kd.{place}"))) }
                                span .open data-p={ "kg." (place) } {}
                            }
                        }
                    }
                }
            }
        }
    }

    fn unit(&self, figure: Figure) -> String {
        let unit = self.frame.settings.units.unit(figure.about().unit);
        unit.replace('¤', &self.frame.study.currency)
    }

    fn group(&self, name: &str) -> Markup {
        html! { tr .group { th .row-head scope="rowgroup" { (name) } td .control {} td colspan=(self.width() - 2) {} } }
    }

    fn amounts(&self, row: &Row) -> Markup {
        let f = self.frame;
        let key = row.key();
        html! {
            tr data-row=(key) {
                th .row-head scope="row" {
                    button .name type="button" popovertarget={ "r-" (key) } { (row.material.name) }
                    span data-p={ "m." (key) } { (self.piece(&format!("m.{key}"))) }
                }
                @for (i, c) in f.columns.iter().enumerate() {
                    td .figure .cell .control[i == 0] { (self.cell(c, row, &key)) }
                    @if i > 0 { (self.slot("change", &format!("c.{}.{key}", c.id()))) }
                }
            }
        }
    }

    fn cell(&self, c: &Column, row: &Row, key: &str) -> Markup {
        let f = self.frame;
        let kind = f.cell_kind(c, row);
        html! {
            @match kind {
                CellKind::Typed => {
                    @let name = cell_name(c.id(), row);
                    input .amount type="text" inputmode="decimal" autocomplete="off" form="cells" name=(name) data-cell=(name)
                        value=(if self.pieces.is_some() { f.cell_text(c, row) } else { String::new() })
                        placeholder="–" aria-label={ (row.material.name) ", " (c.name()) } maxlength="40";
                }
                CellKind::Need | CellKind::Balance | CellKind::Told => {
                    span .told data-p={ "v." (c.id()) "." (key) } data-told=(cell_name(c.id(), row)) tabindex="-1" { (self.piece(&format!("v.{}.{key}", c.id()))) }
                    @if kind == CellKind::Balance { span .mark { "balance" } }
                    @if kind == CellKind::Need { span .mark { "by need" } }
                }
            }
        }
    }

    fn need(&self) -> Markup {
        self.row("needs", "need", "n", false)
    }

    fn sum(&self) -> Markup {
        self.row("sum", "sum", "s", false)
    }

    fn row(&self, name: &str, class: &str, key: &str, changes: bool) -> Markup {
        html! {
            tr .(class) {
                th .row-head scope="row" { (name) }
                @for (i, c) in self.frame.columns.iter().enumerate() {
                    @let piece = format!("{key}.{}", c.id());
                    td .figure .control[i == 0] colspan=[(i > 0 && !changes).then_some("2")] data-p=(piece) { (self.piece(&piece)) }
                }
            }
        }
    }

    fn slot(&self, class: &str, key: &str) -> Markup {
        html! { td .(class) data-p=(key) { (self.piece(key)) } }
    }

    fn add_row(&self) -> Markup {
        let f = self.frame;
        html! {
            tr .add-row .no-print {
                th .row-head {
                    form .add-material method="get" action=(f.path()) {
                        input type="hidden" name="per" value=(super::head::word(f.per));
                        @if !f.extra.is_empty() { input type="hidden" name="rows" value=(f.extra.join(",")); }
                        input type="text" name="row" list="materials" placeholder="add a material…" aria-label="Material to add" autocomplete="off" maxlength="200";
                        button .quiet { "Add" }
                    }
                }
                @for (i, _) in f.columns.iter().enumerate() { td .control[i == 0] colspan=[(i > 0).then_some("2")] {} }
            }
        }
    }

    fn figure(&self, figure: Figure) -> Markup {
        let about = figure.about();
        let unit = self.unit(figure);
        let because = format!("w.{}", about.key);
        let asked = self.pieces.is_some_and(|p| p.contains_key(&because));
        html! {
            tr .figure-row id={ "row-" (about.key) } {
                th .row-head scope="row" {
                    details data-why=(about.key) open[asked] {
                        summary { (about.name) @if !unit.is_empty() { span .unit { " " (unit) } } }
                    }
                }
                @for (i, c) in self.frame.columns.iter().enumerate() {
                    @let value = format!("f.{}.{}", about.key, c.id());
                    td .figure .control[i == 0] data-p=(value) { (self.piece(&value)) }
                    @if i > 0 { (self.slot("change", &format!("d.{}.{}", about.key, c.id()))) }
                }
            }
            tr .because {
                td colspan=(self.width()) {
                    div .because-body data-p=(because) {
                        @if asked { (self.piece(&because)) }
                        @else { a .no-script href={ (self.frame.path()) "?why=" (about.key) "#row-" (about.key) } { "Why" } }
                    }
                }
            }
        }
    }

    fn pictures(&self, name: &str, key: &str, title: &str) -> Markup {
        html! {
            tr .sketches {
                th .row-head scope="row" title=(title) { (name) }
                @for (i, c) in self.frame.columns.iter().enumerate() {
                    @let piece = format!("{key}.{}", c.id());
                    td .figure .control[i == 0] data-p=(piece) { (self.piece(&piece)) }
                    @if i > 0 { td .change {} }
                }
            }
        }
    }

    fn counts(&self, severity: Severity) -> Markup {
        let key = format!("count.{}", severity.word());
        html! {
            tr {
                th .row-head scope="row" { (severity.word()) }
                @for (i, c) in self.frame.columns.iter().enumerate() {
                    @let piece = format!("{key}.{}", c.id());
                    td .figure .control[i == 0] data-p=(piece) { (self.piece(&piece)) }
                    @if i > 0 { td .change {} }
                }
            }
        }
    }
}

/// What a treatment is written on, where it isn't the whole mix.
fn told_on(c: &Column) -> Option<String> {
    let own = match (c.full, c.basis) {
        (false, _) => return None,
        (true, Basis::Mix) => return None,
        (true, basis) => basis.written(),
    };
    Some(format!("written per cent of {own}"))
}
