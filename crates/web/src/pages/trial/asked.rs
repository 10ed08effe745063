//! Questions of their own that are asked of a trial beside its responses: as good as the control, two bowls, ranks.

use super::{address, name_of};
use crate::fields::Fields;
use app::{App, AppError, PanelAnswer, PanelQuestion, PanelResult, TrialView, ask_panel};
use maud::{Markup, html};
use serde_json::{Value, json};

/// A question of its own.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Own {
    /// Whether treatments are as good as the control, by margins told beforehand.
    AsGood,
    /// A question of a panel of dogs.
    Panel(PanelQuestion),
}

/// The word in an address of whether treatments are as good as the control.
const AS_GOOD: &str = "as-good";

impl Own {
    /// Every question.
    const ALL: [Self; 3] = [
        Self::AsGood,
        Self::Panel(PanelQuestion::ALL[0]),
        Self::Panel(PanelQuestion::ALL[1]),
    ];

    const fn word(self) -> &'static str {
        match self {
            Self::AsGood => AS_GOOD,
            Self::Panel(question) => question.word(),
        }
    }

    const fn label(self) -> &'static str {
        match self {
            Self::AsGood => "as good as the control?",
            Self::Panel(PanelQuestion::TwoBowl) => "two bowls and first choice",
            Self::Panel(PanelQuestion::Ranking) => "ranks",
        }
    }

    /// Whether it can be asked of a trial: a margin was told, or a panel wrote something down.
    fn is_asked(self, view: &TrialView) -> bool {
        match self {
            Self::AsGood => view.trial.responses.iter().any(|a| a.margin.is_some()),
            Self::Panel(question) => ask_panel(view, question, 0.0).is_some(),
        }
    }

    /// The question that an address asks.
    pub fn read(query: &Fields) -> Result<Option<Self>, AppError> {
        let Some(word) = query.maybe("ask") else {
            return Ok(None);
        };
        let found = Self::ALL.into_iter().find(|o| o.word() == word);
        found.map(Some).ok_or_else(|| AppError::Value {
            field: "ask".to_owned(),
            why: format!(
                "there is no such question; there are {}",
                Self::ALL.map(Self::word).join(", ")
            ),
        })
    }
}

/// The ways to the questions that can be asked.
pub(super) fn ways(trial: &str, view: &TrialView, chosen: Option<Own>) -> Markup {
    html! {
        @for own in Own::ALL.into_iter().filter(|o| o.is_asked(view)) {
            a href=(format!("{}?ask={}#asked", address(trial), own.word())) aria-current=[(chosen == Some(own)).then_some("true")] { (own.label()) }
        }
    }
}

/// What a dog has to eat of both foods on a day to count, as the address tells it.
fn least_g(query: &Fields) -> Result<f64, AppError> {
    let Some(text) = query.maybe("least") else {
        return Ok(0.0);
    };
    let wrong = |why: String| AppError::Value {
        field: "least eaten of both".to_owned(),
        why,
    };
    let text = text.trim().replace(',', ".");
    let read = book::exchange::read_number(&text, book::exchange::Decimal::Point);
    match read.map_err(wrong)? {
        g if g >= 0.0 => Ok(g),
        _ => Err(wrong("it is an amount in grams, 0 or more".to_owned())),
    }
}

/// The answer of a panel's question as JSON, with the table that it was asked of.
pub(super) fn panel_of(
    view: &TrialView,
    own: Own,
    query: &Fields,
) -> Result<Option<PanelResult>, AppError> {
    match own {
        Own::AsGood => Ok(None),
        Own::Panel(question) => Ok(ask_panel(view, question, least_g(query)?)),
    }
}

/// The answer as JSON.
pub(super) async fn as_json(
    app: &App,
    view: &TrialView,
    own: Own,
    query: &Fields,
) -> Result<Value, AppError> {
    if let Own::Panel(_) = own {
        return Ok(json!({ "asked": own.word(), "panel": panel_of(view, own, query)? }));
    }
    let mut all = Vec::new();
    for asked in view.trial.responses.iter().filter(|a| a.margin.is_some()) {
        let said = app.result(view, asked).await?;
        let lines = said.outcome.as_ref().ok().map(|found| &found.equivalence);
        all.push(json!({ "response": asked.id, "margin": asked.margin, "equivalence": lines }));
    }
    Ok(json!({ "asked": own.word(), "responses": all }))
}

/// The part of the page.
pub(super) async fn part(
    app: &App,
    view: &TrialView,
    own: Own,
    query: &Fields,
) -> Result<Markup, AppError> {
    let answer = match own {
        Own::AsGood => as_good(app, view).await?,
        Own::Panel(_) => panel(view, own, query)?,
    };
    Ok(html! { section .part #asked { (answer) } })
}

async fn as_good(app: &App, view: &TrialView) -> Result<Markup, AppError> {
    let names = view.trial.names();
    let mut told = Vec::new();
    for asked in view.trial.responses.iter().filter(|a| a.margin.is_some()) {
        let said = app.result(view, asked).await?;
        let found = said.outcome.as_ref().ok();
        let answer = found.and_then(|f| report::trial::as_good(&report::trial::named(f, &names)));
        told.push((asked.name.clone(), answer));
    }
    Ok(html! {
        h2 { "As good as the control?" }
        p .second { "Asked with the differences that were called too small to matter when the trial was planned. Each treatment is a question of its own, asked at 5 %." }
        @if told.is_empty() { p { "No margin was told when the trial was planned, and said afterwards it proves nothing." } }
        @for (name, answer) in &told {
            h3 { (name) }
            @match answer {
                Some(told) => (told.part()),
                None => { p { "There is no answer yet: it takes the control and another treatment, measured on several batches." } }
            }
        }
    })
}

fn panel(view: &TrialView, own: Own, query: &Fields) -> Result<Markup, AppError> {
    let trial = &view.entry.thing;
    let Some(found) = panel_of(view, own, query)? else {
        return Ok(html! {
            h2 { (own.label()) }
            p { @match own {
                Own::Panel(PanelQuestion::TwoBowl) => "Nothing was written that it could be asked of: it takes two foods, and of each what a dog ate on a day, with the side of the bowl as its position.",
                _ => "Nothing was written that it could be asked of: it takes a response called rank, with a dog to each rank.",
            } }
        });
    };
    let least = query.maybe("least").unwrap_or_default();
    Ok(html! {
        h2 { @match found.question { PanelQuestion::TwoBowl => "Two bowls and first choice", PanelQuestion::Ranking => "Ranks" } }
        @if let Some([a, b]) = &found.foods { p { "A is " b { (name_of(view, a)) } ", B is " b { (name_of(view, b)) } "." } }
        @match &found.outcome {
            Ok(PanelAnswer::TwoBowl(found)) => (report::trial::two_bowl(found).part()),
            Ok(PanelAnswer::Ranking(found)) => (report::trial::ranking(found).part()),
            Err(why) => { p .wrong { "It can’t be answered yet: " (why) } }
        }
        @if found.question == PanelQuestion::TwoBowl {
            form .line .no-print method="get" action=(format!("{}#asked", address(trial))) {
                input type="hidden" name="ask" value=(own.word());
                label { "a dog counts that ate at least, of both on each day, g " input name="least" inputmode="decimal" size="6" maxlength="12" autocomplete="off" value=(least); }
                " " button { "Ask" }
                " " span .second { "set it before the trial" }
            }
        }
        p .no-print { a href=(format!("{}/measurements?format=csv&ask={}", address(trial), own.word())) { "These rows as a file" } ", which " code { (found.question.command()) } " reads to the same answer." }
    })
}
