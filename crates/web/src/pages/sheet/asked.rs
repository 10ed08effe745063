//! From what was sent to the edits that it asks for.

use super::frame::Frame;
use super::names::{called, known_rows, unknown};
use super::sent::Sent;
use super::{broken, edits};
use crate::fields::Fields;
use app::{Settings, StudyView};
use std::collections::BTreeMap;
use study::Study;
use study::edit::{Edit, Waters};
use study::model::WaterChoice;

/// The edits that were asked for, errors by cell, and what can't be done at all.
pub type Asked = (Vec<Edit>, BTreeMap<String, String>, Option<String>);

/// As [`asked`], but where the water follows the need, the need that the typed amount itself leads to counts: what was
/// typed per cent of the mix is what the cell shows afterwards.
pub fn asked_by_need(
    view: &StudyView,
    settings: &Settings,
    per: report::Per,
    sent: &Sent,
) -> Asked {
    let follows = |id: &str| {
        let treatment = view.study.as_ref().and_then(|s| s.treatment(id));
        treatment.is_some_and(|t| t.water == WaterChoice::FromNeed)
    };
    let moves = sent
        .cells
        .keys()
        .any(|name| name.split(':').nth(1).is_some_and(follows));
    let Some(study) = view
        .study
        .as_deref()
        .filter(|_| per == report::Per::Mix && moves)
    else {
        return asked(view, settings, per, sent);
    };
    let mut frame = Frame::new(view, study, settings, per, &known_rows(study, &sent.rows));
    let by_need = frame.columns.iter().filter(|c| follows(c.id()));
    let known: Waters = by_need
        .map(|c| (c.id().to_owned(), c.water_per_100()))
        .collect();
    let (edits, (errors, said)) = study::edit::by_need(&view.written, known, |waters| {
        for column in &mut frame.columns {
            if let Some(water) = waters.get(column.id()) {
                column.needs(*water);
            }
        }
        let (edits, errors, said) = asked_in(&frame, sent);
        (edits, (errors, said))
    });
    (edits, errors, said)
}

/// The edits that a page or a script asks for.
pub fn asked(view: &StudyView, settings: &Settings, per: report::Per, sent: &Sent) -> Asked {
    let Some(study) = view.study.as_deref() else {
        let (edits, errors) = broken::typed(settings, &sent.cells);
        return match form_edit(None, settings, sent) {
            Ok(more) => (edits.into_iter().chain(more).collect(), errors, None),
            Err(said) => (edits, errors, Some(said)),
        };
    };
    let rows = known_rows(study, &sent.rows);
    asked_in(&Frame::new(view, study, settings, per, &rows), sent)
}

fn asked_in(frame: &Frame, sent: &Sent) -> Asked {
    let typed = edits::typed(frame, &sent.cells);
    let mut edits = typed.edits;
    let more = match sent.act.as_str() {
        "row" => {
            let field = |name: &str| sent.fields.get(name).map_or("", String::as_str);
            edits::row(frame, field("deed"), field("material"))
        }
        _ => form_edit(Some(frame.study), frame.settings, sent),
    };
    match more {
        Ok(more) => {
            edits.extend(more);
            (edits, typed.errors, None)
        }
        Err(said) => (edits, typed.errors, Some(said)),
    }
}

fn form_edit(study: Option<&Study>, settings: &Settings, sent: &Sent) -> Result<Vec<Edit>, String> {
    if !sent.fields.contains_key("edit") {
        return Ok(Vec::new());
    }
    let mut fields = Fields(sent.fields.clone());
    // A material may be named as people name it.
    if let (Some(study), Some(with)) = (study, sent.fields.get("with")) {
        let id = called(study, with).ok_or_else(|| unknown(study, with))?;
        fields.0.insert("with".to_owned(), id);
    }
    fields
        .edit(settings)
        .map(|edit| vec![edit])
        .map_err(|e| e.to_string())
}
