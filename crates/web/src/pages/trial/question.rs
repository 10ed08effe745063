//! A question of one's own of a trial's treatments, and whether they are compared by ranks as well: what
//! `trial analyse --contrast … --by-ranks` asks.

use crate::fields::Fields;
use app::{AppError, TrialView};
use maud::{Markup, html};
use trials::analyse::AnalysisRequest;
use trials::analyse::WantedContrast;
use trials::plan::Design;

/// What is asked beyond what the plan asks itself.
#[derive(Clone, Debug, Default)]
pub(super) struct Question {
    contrast: Option<WantedContrast>,
    by_ranks: bool,
    typed: Fields,
}

impl Question {
    /// Reads the weights of an address, `w.0` for the first treatment; one without a weight has 0.
    pub fn read(view: &TrialView, query: &Fields) -> Result<Self, AppError> {
        let mut weights = Vec::new();
        for (i, pinned) in view.trial.treatments.iter().enumerate() {
            let Some(text) = query.maybe(&format!("w.{i}")) else {
                continue;
            };
            let decimal = book::exchange::Decimal::Point;
            let read = book::exchange::read_number(&text.trim().replace(',', "."), decimal);
            let weight = read.map_err(|why| AppError::Value {
                field: format!("weight of {}", pinned.label),
                why,
            })?;
            weights.push((pinned.label.clone(), weight));
        }
        let name = query.maybe("q").unwrap_or("question").trim();
        let contrast = (!weights.is_empty()).then(|| WantedContrast {
            name: name.chars().take(200).collect(),
            weights,
        });
        Ok(Self {
            contrast,
            by_ranks: query.maybe("ranks").is_some() && can_rank(view),
            typed: query.clone(),
        })
    }

    /// Whether nothing more is asked.
    pub fn is_usual(&self) -> bool {
        self.contrast.is_none() && !self.by_ranks
    }

    /// The request that asks for it.
    pub fn asked_of(self, usual: AnalysisRequest) -> AnalysisRequest {
        AnalysisRequest {
            contrasts: self.contrast.into_iter().collect(),
            by_ranks: self.by_ranks,
            ..usual
        }
    }
}

/// Whether pairs can be compared by ranks over all units: blocks, where there are any, would be mixed.
fn can_rank(view: &TrialView) -> bool {
    view.trial.design() == Design::CompletelyRandomised
}

/// Where it is asked.
pub(super) fn form(trial: &str, view: &TrialView, response: &str, asked: &Question) -> Markup {
    let typed = |name: &str| asked.typed.maybe(name).unwrap_or_default().to_owned();
    html! {
        @if view.trial.roles.contains("treatment=treatment") {
            details .no-print .own-question open[!asked.is_usual()] {
                summary { "A question of your own" @if can_rank(view) { ", or ranks" } }
                p .second { "Weights that add to 0 ask whether the one side differs from the other: 1 and −1 for two treatments, 0.5, 0.5 and −1 for two against the control. It should be thought of before the data are looked at; for one thought of later only Scheffé’s p holds." }
                form method="get" action=(format!("{}#response", super::address(trial))) {
                    input type="hidden" name="response" value=(response);
                    label { "it asks " input name="q" maxlength="200" autocomplete="off" value=(typed("q")); }
                    @for (i, pinned) in view.trial.treatments.iter().enumerate() {
                        @let name = format!("w.{i}");
                        label { (super::name_of(view, &pinned.label)) input name=(name) inputmode="decimal" autocomplete="off" value=(typed(&name)); }
                    }
                    @if can_rank(view) { label { input type="checkbox" name="ranks" value="yes" checked[asked.by_ranks]; " compare all pairs by ranks as well" } }
                    button { "Ask" }
                }
            }
        }
    }
}
