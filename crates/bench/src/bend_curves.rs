//! What an instrument wrote while it bent pieces: force over distance, to the force at break of each.

use crate::Trial;
use crate::observe::{Cell, Told, head_of};
use crate::unit::in_unit;
use serde::Serialize;
use trials::response::Response;

/// The curve of a piece.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BendCurve {
    /// The piece, as the file calls it.
    pub piece: String,
    /// Distance in mm and force in N, in the order of the file.
    pub points: Vec<(f64, f64)>,
    /// Distance and force where the force is highest.
    pub peak: (f64, f64),
    /// Whether it is highest at the last point: the piece may not have broken.
    pub rises_to_the_end: bool,
}

/// Reads such a file: a column of force, one of distance, and one that tells the pieces apart where there are several. A
/// cell that can't be read is told with its row and column.
///
/// ```
/// use bench::{bend_curves, observe::Cell};
/// let row = |cells: [&str; 2]| cells.map(|c| Cell::Text(c.into())).to_vec();
/// let rows = [row(["distance (mm)", "force (kN)"]), row(["0", "0"]), row(["0.4", "0.06"]), row(["0.5", "0.01"])];
/// let (curves, wrong) = bend_curves(&rows, &|t| t.parse().map_err(|_| "no number".into()));
/// assert!(wrong.is_empty());
/// assert_eq!(curves[0].peak, (0.4, 60.0));
/// ```
pub fn bend_curves(
    rows: &[Vec<Cell>],
    number: &dyn Fn(&str) -> Result<f64, String>,
) -> (Vec<BendCurve>, Vec<Told>) {
    let mut wrong = Vec::new();
    let told = |row: usize, column: &str, found: String, why: String| Told {
        row,
        column: column.to_owned(),
        found: found.chars().take(60).collect(),
        why,
    };
    let mut filled = rows
        .iter()
        .enumerate()
        .filter(|(_, r)| !r.iter().all(Cell::is_empty));
    let Some((at, head)) = filled.next() else {
        let why = "there is nothing in the table; the first row names the columns";
        return (Vec::new(), vec![told(1, "", String::new(), why.to_owned())]);
    };
    let heads: Vec<(String, Option<String>)> = head.iter().map(|c| head_of(&c.text())).collect();
    let column = |words: &[&str]| {
        let fits = |name: &str| words.iter().any(|w| name.to_lowercase().contains(w));
        heads.iter().position(|(name, _)| fits(name))
    };
    let force = column(&["force", "load"]);
    let distance = column(&[
        "distance",
        "travel",
        "displacement",
        "deflection",
        "extension",
    ]);
    let piece = column(&["piece", "specimen", "sample"]);
    let (Some(force), Some(distance)) = (force, distance) else {
        let why = "one column has to be called ‘force’ and one ‘distance’, each with its unit, such as ‘force (N)’ and ‘distance (mm)’; one called ‘piece’ tells several apart";
        return (
            Vec::new(),
            vec![told(at + 1, "", String::new(), why.to_owned())],
        );
    };
    for (column, kept) in [(force, "N"), (distance, "mm")] {
        if let (name, Some(unit)) = &heads[column]
            && let Err(error) = in_unit(1.0, unit, kept)
        {
            wrong.push(told(at + 1, name, unit.clone(), error.to_string()));
        }
    }
    if !wrong.is_empty() {
        return (Vec::new(), wrong);
    }
    let mut curves: Vec<BendCurve> = Vec::new();
    for (at, row) in filled {
        let mut value = |column: usize, kept: &str| -> Option<f64> {
            let (name, unit) = &heads[column];
            let cell = row.get(column).unwrap_or(&Cell::Empty);
            let read = match cell {
                Cell::Number(x) if x.is_finite() => Ok(*x),
                cell => number(&cell.text()),
            };
            let unit = unit.as_deref().unwrap_or(kept);
            match read.map(|v| in_unit(v, unit, kept)) {
                Ok(Ok(value)) => Some(value),
                Ok(Err(error)) => {
                    wrong.push(told(at + 1, name, cell.text(), error.to_string()));
                    None
                }
                Err(why) => {
                    wrong.push(told(at + 1, name, cell.text(), why));
                    None
                }
            }
        };
        let (force, distance) = (value(force, "N"), value(distance, "mm"));
        let piece = piece.and_then(|c| row.get(c)).map(Cell::text);
        let piece = piece
            .filter(|p| !p.is_empty())
            .unwrap_or_else(|| "1".to_owned());
        let (Some(force), Some(distance)) = (force, distance) else {
            continue;
        };
        // Pieces follow one another in a file, so the last one is nearly always the one that is looked for.
        let at = curves.iter().rposition(|c| c.piece == piece);
        let at = at.unwrap_or_else(|| {
            curves.push(BendCurve {
                piece,
                points: Vec::new(),
                peak: (distance, force),
                rises_to_the_end: false,
            });
            curves.len() - 1
        });
        let curve = &mut curves[at];
        curve.points.push((distance, force));
        if force > curve.peak.1 {
            curve.peak = (distance, force);
        }
    }
    for curve in &mut curves {
        let last = curve.points.last().copied();
        curve.rises_to_the_end = curve.points.len() > 1 && last == Some(curve.peak);
    }
    if curves.is_empty() && wrong.is_empty() {
        let why = "there are no rows under the head; write one for each reading";
        wrong.push(told(at + 2, "", String::new(), why.to_owned()));
    }
    (curves, wrong)
}

/// The forces at break of a batch, and the stresses where they are known (MPa), as a table of the responses that the trial
/// asks for: [`crate::observe::observe`] reads it.
pub fn bend_table(trial: &Trial, batch: &str, rows: &[(&BendCurve, Option<f64>)]) -> String {
    let asks = |r: Response| trial.response(r.about().id).is_some();
    let force = asks(Response::BreakingForce);
    let stress = asks(Response::BreakingStress) && rows.iter().any(|r| r.1.is_some());
    let mut text = "batch\tpiece".to_owned();
    for (wanted, response) in [
        (force, Response::BreakingForce),
        (stress, Response::BreakingStress),
    ] {
        if wanted {
            text.push('\t');
            text.push_str(response.about().id);
        }
    }
    for (curve, of_bar) in rows {
        let piece = curve.piece.replace(['\t', '\n', '\r', '"'], " ");
        text.push_str(&format!("\n{batch}\t{piece}"));
        if force {
            text.push_str(&format!("\t{}", curve.peak.1));
        }
        if stress {
            let of_bar = of_bar.map_or_else(String::new, |s| s.to_string());
            text.push_str(&format!("\t{of_bar}"));
        }
    }
    text.push('\n');
    text
}
