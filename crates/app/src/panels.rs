//! What a panel of dogs says of a trial's foods: the tables that are taken out, and the answers that files of them give.

use crate::trial_tables::{csv_of, rows_of, trial_table};
use crate::{AppError, TrialView};
use bench::{Sheet, ranking_sheet, two_bowl_sheet};
use book::exchange::Decimal;
use serde::Serialize;
use trials::palatability::{BowlRules, Ranking, TwoBowl, ranking_of, two_bowl_of};

/// A question that is asked of a panel.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum PanelQuestion {
    /// Which of two foods offered side by side is eaten more, and which first.
    TwoBowl,
    /// Which of several foods is liked most, by ranks.
    Ranking,
}

impl PanelQuestion {
    /// Every question.
    pub const ALL: [Self; 2] = [Self::TwoBowl, Self::Ranking];

    /// The word in addresses.
    pub const fn word(self) -> &'static str {
        match self {
            Self::TwoBowl => "two-bowl",
            Self::Ranking => "ranking",
        }
    }

    /// The command that gives the same answer from a file of the table.
    pub const fn command(self) -> &'static str {
        match self {
            Self::TwoBowl => "hardtack trial twobowl",
            Self::Ranking => "hardtack trial ranking",
        }
    }
}

/// What a panel says.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum PanelAnswer {
    /// Of two bowls.
    TwoBowl(Box<TwoBowl>),
    /// Of ranks.
    Ranking(Box<Ranking>),
}

/// What a panel says of a trial's foods.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PanelResult {
    /// What was asked.
    pub question: PanelQuestion,
    /// The table that was analysed.
    pub table: Sheet,
    /// Of two bowls, the foods that are called A and B.
    pub foods: Option<[String; 2]>,
    /// What it says, or why it says nothing.
    pub outcome: Result<PanelAnswer, String>,
}

impl PanelResult {
    /// The table as a CSV file, which the question's command reads to the same answer.
    ///
    /// # Errors
    /// What the table tells.
    pub fn csv(&self) -> Result<Vec<u8>, AppError> {
        csv_of(&self.table)
    }
}

/// Asks a question of the panel of a trial; none where nothing was written that it could be asked of. `least_g` is what a dog
/// has to eat of both foods on a day.
pub fn ask_panel(view: &TrialView, question: PanelQuestion, least_g: f64) -> Option<PanelResult> {
    let (table, foods) = match question {
        PanelQuestion::TwoBowl => {
            let (table, foods) = two_bowl_sheet(&view.trial, &view.made)?;
            (table, Some(foods))
        }
        PanelQuestion::Ranking => (ranking_sheet(&view.trial, &view.made)?, None),
    };
    let read = trial_table(rows_of(&table), Decimal::Point);
    let read = read.map_err(|wrong| {
        let each = wrong.iter().map(|f| f.message.as_str());
        each.collect::<Vec<_>>().join(" ")
    });
    let outcome = read.and_then(|table| match question {
        PanelQuestion::TwoBowl => {
            let rules = BowlRules {
                least_total_g: least_g,
            };
            two_bowl_of(&table, rules)
                .map(|found| PanelAnswer::TwoBowl(Box::new(found)))
                .map_err(|e| e.to_string())
        }
        PanelQuestion::Ranking => ranking_of(&table, None)
            .map(|found| PanelAnswer::Ranking(Box::new(found)))
            .map_err(|e| e.to_string()),
    });
    Some(PanelResult {
        question,
        table,
        foods,
        outcome,
    })
}
