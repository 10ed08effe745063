//! What is chosen in the form of a plan by its name: the treatments, and what is measured on their batches.

use crate::fields::Fields;
use ::study::Study;
use maud::{Markup, html};
use trials::response::Response as Measured;

/// Measured unless somebody chooses otherwise, with readings of each batch.
const USUAL: [(Measured, &str); 3] = [
    (Measured::BreakingForce, "8"),
    (Measured::WholeAtCutting, "1"),
    (Measured::WaterDose, "1"),
];

fn treatment_field(id: &str) -> String {
    format!("t.{id}")
}

fn readings_field(id: &str) -> String {
    format!("r.{id}")
}

fn margin_field(id: &str) -> String {
    format!("m.{id}")
}

/// The treatments of a study, each to be ticked; all are until the form was sent.
pub fn treatments(study: &Study, query: &Fields, first: bool) -> Markup {
    let control = study.control();
    let others = study.treatments.iter().filter(|t| t.id != control.id);
    let all = std::iter::once(control).chain(others);
    html! {
        fieldset .wide .picks {
            legend { "treatments" }
            @for (i, t) in all.enumerate() {
                @let field = treatment_field(&t.id);
                label .check {
                    input type="checkbox" name=(field) value=(i) checked[first || query.0.contains_key(&field)];
                    span { (t.name) @if i == 0 { span .second { " control" } } }
                }
            }
        }
    }
}

/// The ids of the treatments that were ticked, as they stood.
pub fn ticked(fields: &Fields) -> Vec<String> {
    let ticked = fields.0.iter().filter_map(|(name, place)| {
        let id = name.strip_prefix("t.")?;
        Some((place.trim().parse::<usize>().unwrap_or(usize::MAX), id))
    });
    let mut ticked: Vec<_> = ticked.collect();
    ticked.sort();
    ticked.into_iter().map(|(_, id)| id.to_owned()).collect()
}

/// What can be measured: the usual first, the others folded, and what has no name here yet.
pub fn measurements(query: &Fields, first: bool) -> Markup {
    let usual = |m: Measured| USUAL.iter().find(|(u, _)| *u == m).map(|(_, n)| *n);
    let readings = |m: Measured| match query.maybe(&readings_field(m.about().id)) {
        Some(typed) => typed.to_owned(),
        None if first => usual(m).unwrap_or_default().to_owned(),
        None => String::new(),
    };
    let others = Measured::ALL.into_iter().filter(|m| usual(*m).is_none());
    let (chosen, rest): (Vec<_>, Vec<_>) = others.partition(|m| !readings(*m).is_empty());
    let shown: Vec<Measured> = USUAL.iter().map(|(m, _)| *m).chain(chosen).collect();
    let table = |of: &[Measured]| {
        html! {
            table .list .measured {
                thead { tr { th scope="col" { "measured" } th scope="col" { "readings of each batch" } th scope="col" { "a difference too small to matter" } } }
                tbody { @for m in of {
                    @let about = m.about();
                    @let margin = margin_field(about.id);
                    tr {
                        th scope="row" { (about.name) @if !about.unit.is_empty() { span .unit { ", " (about.unit) } } br; span .second { (about.method) } }
                        td { input name=(readings_field(about.id)) inputmode="numeric" size="5" maxlength="6" autocomplete="off" aria-label={ "readings of " (about.name) " of each batch" } value=(readings(*m)); }
                        td { input name=(margin) inputmode="decimal" size="6" maxlength="12" autocomplete="off" aria-label={ "difference of " (about.name) " that is too small to matter" } value=(query.maybe(&margin).unwrap_or_default()); }
                    }
                } }
            }
        }
    };
    html! {
        fieldset .wide .picks {
            legend { "what is measured" }
            p .second { "No readings: it isn’t measured. Told before the trial, a difference too small to matter lets ‘as good as the control’ be answered." }
            (table(&shown))
            details { summary { "Other measurements" } (table(&rest)) }
            label .wide { "anything else, one a line, with its unit and readings: crumbs (g):3"
                textarea name="responses" rows="2" spellcheck="false" { (query.maybe("responses").unwrap_or_default()) } }
        }
    }
}

/// What was chosen, each as it is written on the command line: the usual first, then as listed.
pub fn chosen(fields: &Fields) -> Vec<String> {
    let usual = USUAL.iter().map(|(m, _)| *m);
    let others = Measured::ALL
        .into_iter()
        .filter(|m| USUAL.iter().all(|(u, _)| u != m));
    let written = usual.chain(others).filter_map(|m| {
        let id = m.about().id;
        let readings = fields.maybe(&readings_field(id))?.trim();
        let margin = fields.maybe(&margin_field(id)).unwrap_or_default().trim();
        Some(format!("{id}:{readings}:{}", margin.replace(',', ".")))
    });
    written.collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn fields(pairs: &[(&str, &str)]) -> Fields {
        let owned = pairs
            .iter()
            .map(|(k, v)| ((*k).to_owned(), (*v).to_owned()));
        Fields(owned.collect())
    }

    #[test]
    fn treatments_come_as_they_stood_and_measurements_as_they_are_written() {
        let sent = fields(&[
            ("t.barley", "1"),
            ("t.zest", "0"),
            ("t.oat", "10"),
            ("r.piece_mass_g", "5"),
            ("r.breaking_force_n", "8"),
            ("m.breaking_force_n", "2,5"),
            ("r.length_mm", " "),
        ]);
        assert_eq!(ticked(&sent), ["zest", "barley", "oat"]);
        assert_eq!(chosen(&sent), ["breaking_force_n:8:2.5", "piece_mass_g:5:"]);
    }

    #[test]
    fn what_was_left_empty_stays_empty() {
        let again = measurements(&fields(&[("name", "x")]), false).into_string();
        assert!(again.contains("name=\"r.breaking_force_n\"") && !again.contains("value=\"8\""));
        let first = measurements(&fields(&[]), true).into_string();
        assert!(first.contains("value=\"8\""));
    }
}
