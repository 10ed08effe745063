//! The run sheet: what to do in which order, for the bench and for the record.

use super::{Design, Unit};
use measure::Finding;
use serde::{Deserialize, Serialize};
use std::fmt::Write;

/// A setting on the sheet.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum Level {
    /// A number in the factor's unit.
    Number(f64),
    /// A named level.
    Name(String),
}

impl std::fmt::Display for Level {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Number(x) => write!(f, "{x}"),
            Self::Name(n) => f.write_str(n),
        }
    }
}

/// A column of settings.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Column {
    /// The factor or component.
    pub name: String,
    /// Its unit, empty for named levels.
    pub unit: String,
}

impl Column {
    /// A column without a unit.
    pub fn named(name: &str) -> Self {
        Self {
            name: name.to_owned(),
            unit: String::new(),
        }
    }

    fn heading(&self) -> String {
        if self.unit.is_empty() {
            self.name.clone()
        } else {
            format!("{} ({})", self.name, self.unit)
        }
    }
}

/// One line of the sheet.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Run {
    /// Place in the order of work, from 1.
    pub order: usize,
    /// The experimental unit.
    pub unit_id: String,
    /// Where it stands: block, whole plot, row or column, one per place name of the sheet.
    pub places: Vec<String>,
    /// The treatment; the same settings carry the same label.
    pub treatment: String,
    /// One setting per factor column.
    pub levels: Vec<Level>,
}

/// A fact about a plan, e.g. its resolution.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Fact {
    /// What it tells.
    pub name: String,
    /// Its value in words.
    pub value: String,
}

/// A drawn plan.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct RunSheet {
    /// The design.
    pub design: Design,
    /// The seed the order was drawn from.
    pub seed: u64,
    /// Generator and shuffle, with version.
    pub algorithm: String,
    /// The experimental unit.
    pub unit: Unit,
    /// What the experimental unit is and what it is not, in words.
    pub unit_statement: String,
    /// Names of the places: block, whole plot …
    pub place_names: Vec<String>,
    /// Factor columns.
    pub factors: Vec<Column>,
    /// The runs in the order of work.
    pub runs: Vec<Run>,
    /// Degrees of freedom left for error, where the design fixes them.
    pub error_df: Option<usize>,
    /// Facts about the design: aliases, resolution, efficiency …
    pub facts: Vec<Fact>,
    /// What to know before the day.
    pub findings: Vec<Finding>,
}

impl RunSheet {
    /// The column headings: order, unit, places, treatment, factors.
    pub fn headings(&self) -> Vec<String> {
        let mut h = vec!["order".to_owned(), self.unit.word().to_owned()];
        h.extend(self.place_names.iter().cloned());
        h.push("treatment".to_owned());
        h.extend(self.factors.iter().map(Column::heading));
        h
    }

    fn cells(run: &Run, level: impl Fn(&Level) -> String) -> Vec<String> {
        let mut c = vec![run.order.to_string(), run.unit_id.clone()];
        c.extend(run.places.iter().cloned());
        c.push(run.treatment.clone());
        c.extend(run.levels.iter().map(level));
        c
    }

    /// Who is who on the sheet, as the analysis reads it back: `role=column` parted by semicolons.
    ///
    /// ```
    /// use trials::plan::{Design, Request, Unit, plan};
    /// let sheet = plan(&Request::example(Design::SplitPlot), Unit::Batch, 1).unwrap();
    /// assert!(sheet.roles().contains("plots=oven load"));
    /// ```
    pub fn roles(&self) -> String {
        use Design as D;
        let mut parts = vec![format!("design={}", self.design.code())];
        let mut add = |role: &str, column: &str| parts.push(format!("{role}={column}"));
        let factors: Vec<String> = self.factors.iter().map(Column::heading).collect();
        match self.design {
            D::Factorial | D::Fractional | D::Augmented | D::SplitPlot => {
                for name in &factors {
                    add("treatment", name);
                }
            }
            D::CentralComposite | D::BoxBehnken => {
                for name in &factors {
                    add("variable", name);
                }
                add("treatment", "treatment");
            }
            D::SimplexLattice | D::SimplexCentroid | D::ConstrainedMixture => {
                // Water and other settings on top of a mixture are no parts of it.
                for (name, column) in factors.iter().zip(&self.factors) {
                    let part = column.unit == "fraction";
                    add(if part { "part" } else { "variable" }, name);
                }
                add("treatment", "treatment");
            }
            _ => add("treatment", "treatment"),
        }
        match (self.design, self.place_names.as_slice()) {
            (D::SplitPlot, [block, plots]) => {
                add("block", block);
                add("plots", plots);
                if let Some(whole) = factors.first() {
                    add("whole-plot", whole);
                }
            }
            (D::Williams, [sequence, period]) => {
                add("sequence", sequence);
                add("period", period);
            }
            (_, places) => {
                for place in places {
                    add("block", place);
                }
            }
        }
        add("unit", self.unit.word());
        parts.join("; ")
    }

    /// The sheet as CSV (RFC 4180): a heading line and one line per run. The seed, the algorithm
    /// and the roles of the columns stand in three last columns, so that a sheet cut from its file
    /// can still be redrawn and read back for what it is.
    pub fn to_csv(&self) -> String {
        let mut out = String::new();
        let mut line = |cells: &[String]| {
            let quoted: Vec<String> = cells.iter().map(|c| csv_cell(c)).collect();
            out.push_str(&quoted.join(","));
            out.push_str("\r\n");
        };
        let mut head = self.headings();
        head.extend(["seed", "algorithm", "roles"].map(str::to_owned));
        let roles = self.roles();
        line(&head);
        for run in &self.runs {
            let mut cells = Self::cells(run, Level::to_string);
            cells.extend([self.seed.to_string(), self.algorithm.clone(), roles.clone()]);
            line(&cells);
        }
        out
    }

    /// The sheet as TOML: the head of the plan and one `[[run]]` per run.
    pub fn to_toml(&self) -> String {
        let mut out = String::new();
        let q = toml_string;
        let _ = writeln!(out, "design = {}", q(self.design.code()));
        // A seed may need all 64 bits, which a TOML integer does not hold.
        let _ = writeln!(out, "seed = {}", q(&self.seed.to_string()));
        let _ = writeln!(out, "algorithm = {}", q(&self.algorithm));
        let _ = writeln!(out, "unit = {}", q(self.unit.word()));
        let _ = writeln!(out, "unit_statement = {}", q(&self.unit_statement));
        if let Some(df) = self.error_df {
            let _ = writeln!(out, "error_df = {df}");
        }
        if !self.facts.is_empty() {
            out.push_str("\n[facts]\n");
            for f in &self.facts {
                let _ = writeln!(out, "{} = {}", q(&f.name), q(&f.value));
            }
        }
        for run in &self.runs {
            let _ = writeln!(
                out,
                "\n[[run]]\norder = {}\nunit = {}",
                run.order,
                q(&run.unit_id)
            );
            let _ = writeln!(out, "treatment = {}", q(&run.treatment));
            if !self.place_names.is_empty() {
                out.push_str("[run.places]\n");
            }
            for (name, place) in self.place_names.iter().zip(&run.places) {
                let _ = writeln!(out, "{} = {}", q(name), q(place));
            }
            if !self.factors.is_empty() {
                out.push_str("[run.levels]\n");
                for (column, level) in self.factors.iter().zip(&run.levels) {
                    let value = match level {
                        Level::Number(x) if x.is_finite() => format!("{x:?}"),
                        other => q(&other.to_string()),
                    };
                    let _ = writeln!(out, "{} = {value}", q(&column.heading()));
                }
            }
        }
        out
    }

    /// The sheet as a Markdown page to print and write on.
    pub fn to_markdown(&self) -> String {
        let mut out = format!(
            "# Run sheet: {}\n\n{}\n\n",
            self.design.word(),
            self.unit_statement
        );
        let _ = writeln!(
            out,
            "Order drawn from seed {} ({}).\n",
            self.seed, self.algorithm
        );
        if let Some(df) = self.error_df {
            let _ = writeln!(out, "Degrees of freedom left for error: {df}.\n");
        }
        for f in &self.facts {
            let _ = writeln!(out, "- {}: {}", md_cell(&f.name), md_cell(&f.value));
        }
        if !self.facts.is_empty() {
            out.push('\n');
        }
        let mut row = |cells: &[String]| {
            let cells: Vec<String> = cells.iter().map(|c| md_cell(c)).collect();
            let _ = writeln!(out, "| {} |", cells.join(" | "));
        };
        let mut head = self.headings();
        head.push("done, note".to_owned());
        row(&head);
        row(&vec!["---".to_owned(); head.len()]);
        for run in &self.runs {
            let mut cells = Self::cells(run, for_print);
            cells.push(String::new());
            row(&cells);
        }
        for f in &self.findings {
            let _ = writeln!(out, "\n{}: {} {}", f.severity.word(), f.message, f.help);
        }
        out
    }
}

/// A setting as printed: six significant digits, no trailing zeros; files keep the full number.
fn for_print(level: &Level) -> String {
    match level {
        Level::Number(x) => {
            let text = measure::rounding::significant(*x, 6);
            match text.contains('.') {
                true => text.trim_end_matches('0').trim_end_matches('.').to_owned(),
                false => text,
            }
        }
        Level::Name(name) => name.clone(),
    }
}

fn csv_cell(text: &str) -> String {
    if text.contains(['"', ',', '\n', '\r']) {
        format!("\"{}\"", text.replace('"', "\"\""))
    } else {
        text.to_owned()
    }
}

fn toml_string(text: &str) -> String {
    let mut out = String::from("\"");
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            c if (c as u32) < 0x20 || c as u32 == 0x7f => {
                let _ = write!(out, "\\u{:04X}", c as u32);
            }
            c => out.push(c),
        }
    }
    out.push('"');
    out
}

fn md_cell(text: &str) -> String {
    text.replace('|', "\\|").replace(['\n', '\r'], " ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn awkward_text_is_quoted() {
        assert_eq!(csv_cell("a,\"b\""), "\"a,\"\"b\"\"\"");
        assert_eq!(toml_string("a\"\\\n"), "\"a\\\"\\\\\\u000A\"");
        assert_eq!(md_cell("a|b\nc"), "a\\|b c");
        let shown = [0.0, 0.533_333_333_333, 30.0, -1200.0].map(|x| for_print(&Level::Number(x)));
        assert_eq!(shown, ["0", "0.533333", "30", "-1200"]);
    }
}
