//! Cells that another window changed while this one was typed in: what doesn’t touch the same goes through, the rest is
//! shown with what stands there now and what was typed, to be settled cell by cell.

use super::act::Told;
use super::asked::asked_by_need;
use super::frame::Frame;
use super::sent::Sent;
use app::{App, AppError, Seen, Settings, StudyView};
use serde::Serialize;
use std::collections::BTreeMap;

/// What stands in a cell now, from another window, and what was typed here.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Clash {
    /// As the sheet writes it; empty where nothing stands there.
    pub stands: String,
    pub typed: String,
}

/// Takes what was typed one after the other; each cell that another window changed is told in `told`.
pub async fn settled(
    app: &App,
    settings: &Settings,
    thing: &str,
    per: report::Per,
    sent: &Sent,
    told: &mut Told,
) -> Result<StudyView, AppError> {
    let who = settings.who.as_str();
    let mut view = app.study(who, thing).await?;
    let mut met: Vec<&String> = Vec::new();
    for group in together(&sent.cells, per) {
        let cells = group.iter().map(|(n, t)| ((*n).clone(), (*t).clone()));
        let alone = Sent {
            cells: cells.collect(),
            rows: sent.rows.clone(),
            ..Sent::default()
        };
        let (edits, _, _) = asked_by_need(&view, settings, per, &alone);
        if edits.is_empty() {
            continue;
        }
        let seen = Seen {
            base: sent.base,
            counter: sent.counter,
            window: sent.window.clone(),
        };
        match app.edit(who, thing, seen, &edits).await {
            Ok(after) => view = after,
            Err(AppError::Overtaken { .. }) => met.extend(group.iter().map(|(name, _)| *name)),
            Err(error) => {
                for (name, _) in &group {
                    told.errors.insert((*name).clone(), error.to_string());
                }
            }
        }
    }
    if let Some(study) = view.study.as_deref() {
        let frame = Frame::new(&view, study, settings, per, &[]);
        for name in met {
            let typed = sent.cells.get(name).map_or("", |t| t.trim()).to_owned();
            let stands = text(&frame, name);
            let [here, yours] = [&stands, &typed].map(|t| if t.is_empty() { "nothing" } else { t });
            let why = format!(
                "Changed in another window. What stands here now: {here}. What you typed: {yours}."
            );
            told.errors.insert(name.clone(), why);
            told.clashes.insert(name.clone(), Clash { stands, typed });
        }
    }
    Ok(view)
}

/// Cells that are taken together: each by itself where amounts are told per cent of the mix; all of a treatment
/// elsewhere, where one amount moves the others.
fn together(cells: &BTreeMap<String, String>, per: report::Per) -> Vec<Vec<(&String, &String)>> {
    let mut groups: BTreeMap<&str, Vec<(&String, &String)>> = BTreeMap::new();
    for (name, text) in cells {
        let treatment = name.split(':').nth(1).unwrap_or_default();
        let key = if per == report::Per::Mix {
            name
        } else {
            treatment
        };
        groups.entry(key).or_default().push((name, text));
    }
    groups.into_values().collect()
}

/// What the sheet shows in a cell.
fn text(frame: &Frame, name: &str) -> String {
    for column in &frame.columns {
        for row in &frame.rows {
            if super::edits::cell_name(column.id(), row) == name {
                return frame.cell_text(column, row);
            }
        }
    }
    String::new()
}
