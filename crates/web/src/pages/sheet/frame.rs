//! What the whole sheet shares: its columns, its rows, its decimals.

use super::column::{Column, Line};
use app::{Settings, StudyView};
use formula::{Material, Stage};
use report::Per;
use std::sync::Arc;
use study::{Compared, Figure, Study};

/// A row of the formulas.
#[derive(Clone)]
pub struct Row {
    pub stage: Stage,
    pub material: Arc<Material>,
}

impl Row {
    pub fn id(&self) -> &str {
        &self.material.id
    }

    /// Name of this row in forms and pieces.
    pub fn key(&self) -> String {
        format!("{}.{}", self.stage.word(), self.material.id)
    }
}

/// What a cell of the formulas is.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum CellKind {
    /// Can be typed in.
    Typed,
    /// Takes the rest.
    Balance,
    /// Follows the need.
    Need,
    /// Can't be typed in on this basis, or stands at two stages.
    Told,
}

/// The sheet as it is drawn.
pub struct Frame<'a> {
    pub view: &'a StudyView,
    pub study: &'a Study,
    pub settings: &'a Settings,
    pub per: Per,
    pub columns: Vec<Column<'a>>,
    pub rows: Vec<Row>,
    /// Materials with an empty row, as asked for.
    pub extra: Vec<String>,
    pub decimals: usize,
    /// What the treatments did when the study was last saved, where something is unsaved.
    pub saved: &'a [Compared],
    /// The last minute and the highest moisture of the small curves.
    pub minutes: f64,
    pub moisture: f64,
    /// The heaviest piece of dough, g.
    pub heaviest_g: f64,
}

impl<'a> Frame<'a> {
    pub fn new(
        view: &'a StudyView,
        study: &'a Study,
        settings: &'a Settings,
        per: Per,
        extra: &[String],
    ) -> Self {
        let control = study.control();
        let order =
            std::iter::once(control).chain(study.treatments.iter().filter(|t| t.id != control.id));
        let columns: Vec<Column> = order.map(|t| Column::new(study, t, view)).collect();
        let rows = rows(study, &columns, extra);
        let shown = columns
            .iter()
            .flat_map(|c| c.lines.iter().filter_map(|l| c.amount(per, l)));
        let fine = |v: f64| {
            v > 0.0
                && (v < 1.0
                    || (per == Per::Mix
                        && (v * 10.0 - (v * 10.0).round()).abs() > 0.05
                        && v < 20.0))
        };
        let decimals = if shown.into_iter().any(fine) { 2 } else { 1 };
        let most = |values: &mut dyn Iterator<Item = f64>| {
            values.filter(|v| v.is_finite()).fold(0.0, f64::max)
        };
        let answers = || columns.iter().filter_map(|c| c.compared).map(|c| &c.answer);
        Self {
            minutes: 1.2 * most(&mut answers().map(|a| a.bake.time_min)),
            moisture: most(&mut answers().flat_map(|a| a.bake.curve.moisture_pct.iter().copied())),
            heaviest_g: most(&mut answers().map(|a| a.piece.green_mass_g)),
            view,
            study,
            settings,
            per,
            rows,
            extra: extra.to_vec(),
            decimals,
            columns,
            saved: &[],
        }
    }

    /// With what the treatments did when the study was last saved.
    pub fn since(mut self, saved: Option<&'a Vec<Compared>>) -> Self {
        self.saved = saved.map_or(&[], Vec::as_slice);
        self
    }

    /// The answers that stay in sight.
    pub fn watched(&self) -> Vec<Figure> {
        self.settings.watched()
    }

    /// The way to this study's pages.
    pub fn path(&self) -> String {
        format!("/study/{}", self.view.thing)
    }

    /// A number's text with the person's decimal mark.
    pub fn mark(&self, text: &str) -> String {
        match self.settings.decimal.mark() {
            '.' => text.to_owned(),
            mark => text.replace('.', &mark.to_string()),
        }
    }

    /// An amount as it stands in a cell: plain digits that read back.
    pub fn amount_text(&self, amount: f64) -> String {
        self.mark(&format!("{amount:.*}", self.decimals))
    }

    pub fn cell_kind(&self, column: &Column, row: &Row) -> CellKind {
        let balance = column.treatment.formula.balance() == Some(row.id());
        if row.material.is_water() && column.follows_need() {
            CellKind::Need
        } else if balance {
            CellKind::Balance
        } else if column.twice(row.id()) || (self.per == Per::DryMatter && row.material.is_water())
        {
            CellKind::Told
        } else {
            CellKind::Typed
        }
    }

    /// What a cell shows; none for an empty one.
    pub fn cell_amount(&self, column: &Column, row: &Row) -> Option<f64> {
        let line: &Line = column.line(row.stage, row.id())?;
        column.amount(self.per, line)
    }

    /// The text of a cell, empty for none.
    pub fn cell_text(&self, column: &Column, row: &Row) -> String {
        self.cell_amount(column, row)
            .map_or_else(String::new, |a| self.amount_text(a))
    }
}

/// Every material of any treatment, by stage, in the order of the control's formula, then of the
/// others'; water closes its stage.
fn rows(study: &Study, columns: &[Column], extra: &[String]) -> Vec<Row> {
    let mut rows: Vec<Row> = Vec::new();
    for line in columns.iter().flat_map(|c| &c.lines) {
        if !rows
            .iter()
            .any(|r| r.stage == line.stage && r.id() == line.material.id)
        {
            rows.push(Row {
                stage: line.stage,
                material: Arc::clone(&line.material),
            });
        }
    }
    for id in extra {
        if let Some(material) = study.material(id)
            && !rows.iter().any(|r| r.id() == id)
        {
            rows.push(Row {
                stage: material.category.usual_stage(),
                material,
            });
        }
    }
    rows.sort_by_key(|r| (r.stage, r.material.is_water()));
    rows
}
