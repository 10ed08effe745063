//! Settings of the book: units, currency, dates, decimal mark, and whose name stands on a change.

use crate::{App, AppError, FORM_VERSION, now};
use book::exchange::Decimal;
use book::{Kind, Save, SaveError};
use measure::Units;
use serde::{Deserialize, Serialize};
use std::sync::RwLock;
use study::Figure;

/// The answers that stay in sight until somebody chooses: how long it bakes, what the line gives, how long it stays
/// crisp, protein and cost.
const WATCHED: [Figure; 5] = [
    Figure::BakeTime,
    Figure::Output,
    Figure::CrispDays,
    Figure::Protein,
    Figure::CostPerKg,
];
/// Fewest and most answers that stay in sight.
const MAY_WATCH: std::ops::RangeInclusive<usize> = 4..=6;

/// The lasting name of the settings in the book.
const THING: &str = "settings";

/// How dates are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum DateLanguage {
    /// 2026-11-25.
    Iso,
    /// 25 November 2026.
    British,
    /// November 25, 2026.
    American,
    /// 25. November 2026.
    German,
    /// 25 novembre 2026.
    French,
    /// 25 de noviembre de 2026.
    Spanish,
}

impl DateLanguage {
    /// Every choice.
    pub const ALL: [Self; 6] = [
        Self::Iso,
        Self::British,
        Self::American,
        Self::German,
        Self::French,
        Self::Spanish,
    ];

    /// The word in forms.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Iso => "iso",
            Self::British => "british",
            Self::American => "american",
            Self::German => "german",
            Self::French => "french",
            Self::Spanish => "spanish",
        }
    }

    fn months(self) -> [&'static str; 12] {
        match self {
            Self::Iso | Self::British | Self::American => [
                "January",
                "February",
                "March",
                "April",
                "May",
                "June",
                "July",
                "August",
                "September",
                "October",
                "November",
                "December",
            ],
            Self::German => [
                "Januar",
                "Februar",
                "März",
                "April",
                "Mai",
                "Juni",
                "Juli",
                "August",
                "September",
                "Oktober",
                "November",
                "Dezember",
            ],
            Self::French => [
                "janvier",
                "février",
                "mars",
                "avril",
                "mai",
                "juin",
                "juillet",
                "août",
                "septembre",
                "octobre",
                "novembre",
                "décembre",
            ],
            Self::Spanish => [
                "enero",
                "febrero",
                "marzo",
                "abril",
                "mayo",
                "junio",
                "julio",
                "agosto",
                "septiembre",
                "octubre",
                "noviembre",
                "diciembre",
            ],
        }
    }

    /// A moment of the book, UTC, as a date and time of this computer's zone. What isn't a moment
    /// comes back as it is.
    ///
    /// ```
    /// use app::DateLanguage;
    /// assert!(DateLanguage::Iso.written("2026-11-25T12:00:00Z").starts_with("2026-11-25 "));
    /// assert_eq!(DateLanguage::Iso.written("soon"), "soon");
    /// ```
    pub fn written(self, when: &str) -> String {
        let Ok(moment) = when.parse::<jiff::Timestamp>() else {
            return when.to_owned();
        };
        let local = moment.to_zoned_datetime(jiff::tz::TimeZone::system());
        let time = format!("{:02}:{:02}", local.hour(), local.minute());
        format!("{} {time}", self.day(local.date()))
    }

    /// A day, as people write it.
    ///
    /// ```
    /// let day = "2026-11-25".parse().unwrap();
    /// assert_eq!(app::DateLanguage::British.day(day), "25 November 2026");
    /// assert_eq!(app::DateLanguage::Iso.day(day), "2026-11-25");
    /// ```
    pub fn day(self, date: jiff::civil::Date) -> String {
        let (year, day) = (date.year(), date.day());
        let month = usize::try_from(date.month() - 1).unwrap_or(0);
        let name = self.months()[month.min(11)];
        match self {
            Self::Iso => format!("{year}-{:02}-{day:02}", date.month()),
            Self::British | Self::French => format!("{day} {name} {year}"),
            Self::American => format!("{name} {day}, {year}"),
            Self::German => format!("{day}. {name} {year}"),
            Self::Spanish => format!("{day} de {name} de {year}"),
        }
    }
}

/// The settings.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Settings {
    /// Whose name stands on a change made in this book, until there are accounts.
    pub who: String,
    /// Units shown.
    pub units: Units,
    /// Currency that a new study starts with, three letters.
    pub currency: String,
    /// How dates are written.
    pub dates: DateLanguage,
    /// The decimal mark of typed and exported numbers.
    pub decimal: Decimal,
    /// Whether a copy of the book is kept beside it every day.
    pub copies: bool,
    /// Whether every saved study is also written as a text beside the book; every hundredth is either way.
    pub texts: bool,
    /// The answers that stay in sight over a study, by key; the usual ones while it is empty.
    pub watched: Vec<String>,
    /// Lasting names of studies that are put away: kept, and out of the list.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub put_away: Vec<String>,
}

impl Default for Settings {
    fn default() -> Self {
        let who = std::env::var("USER").or_else(|_| std::env::var("USERNAME"));
        Self {
            who: who
                .ok()
                .filter(|w| !w.trim().is_empty())
                .unwrap_or_else(|| "me".to_owned()),
            units: Units::Metric,
            currency: "EUR".to_owned(),
            dates: DateLanguage::British,
            decimal: Decimal::Point,
            copies: true,
            texts: false,
            watched: Vec::new(),
            put_away: Vec::new(),
        }
    }
}

impl Settings {
    /// Checks them.
    fn check(&self) -> Result<(), AppError> {
        let wrong = |field: &str, why: &str| {
            Err(AppError::Value {
                field: field.to_owned(),
                why: why.to_owned(),
            })
        };
        if let Some(key) = self.watched.iter().find(|k| Figure::with_key(k).is_none()) {
            return wrong("answers in sight", &format!("there is no answer ‘{key}’"));
        }
        if !self.watched.is_empty() && !MAY_WATCH.contains(&self.watched.len()) {
            let (fewest, most) = (MAY_WATCH.start(), MAY_WATCH.end());
            let n = self.watched.len();
            return wrong(
                "answers in sight",
                &format!("choose {fewest} to {most}; these are {n}"),
            );
        }
        if self.who.contains(char::is_control) {
            return wrong(
                "name",
                "it holds a character that can't be seen; type it without",
            );
        }
        if self.who.trim().is_empty() || self.who.chars().count() > 200 {
            return wrong("name", "write who makes the changes, at most 200 letters");
        }
        if self.currency.len() != 3 || !self.currency.bytes().all(|b| b.is_ascii_uppercase()) {
            return wrong("currency", "write three capital letters such as EUR or USD");
        }
        Ok(())
    }

    /// The answers that stay in sight, cause before effect.
    pub fn watched(&self) -> Vec<Figure> {
        if self.watched.is_empty() {
            return WATCHED.to_vec();
        }
        let chosen = |f: &Figure| self.watched.iter().any(|k| k == f.about().key);
        Figure::ALL.into_iter().filter(chosen).collect()
    }

    /// Reads a number as this person writes it.
    ///
    /// # Errors
    /// What is wrong and what is allowed, with the field's name.
    pub fn number(&self, field: &str, text: &str) -> Result<f64, AppError> {
        book::exchange::read_number(text, self.decimal).map_err(|why| AppError::Value {
            field: field.to_owned(),
            why,
        })
    }
}

/// Times that a change of the settings is made again on what somebody else saved in between.
const MOST_TRIES: usize = 32;

/// The settings as last read, so that not every page asks the book for them.
#[derive(Debug, Default)]
pub(crate) struct Kept(RwLock<Option<(Settings, Option<u64>)>>);

impl App {
    /// The settings; usual ones until somebody saves others.
    ///
    /// # Errors
    /// What the storage tells.
    pub async fn settings(&self) -> Result<Settings, AppError> {
        Ok(self.settings_at().await?.0)
    }

    /// The settings and the number of their revision.
    pub(crate) async fn settings_at(&self) -> Result<(Settings, Option<u64>), AppError> {
        if let Some(kept) = self.settings.0.read().ok().and_then(|kept| kept.clone()) {
            return Ok(kept);
        }
        let current = self.book.newest(Kind::Setting, THING).await?;
        let number = current.as_ref().map(|r| r.entry.number);
        let settings = current
            .and_then(|r| serde_json::from_str(&r.form).ok())
            .unwrap_or_default();
        if let Ok(mut kept) = self.settings.0.write() {
            *kept = Some((settings, number));
            if let Some(kept) = kept.as_ref() {
                return Ok(kept.clone());
            }
        }
        Ok((Settings::default(), number))
    }

    /// Why the saved settings can't be understood, so that the usual ones are used; none when they can.
    pub(crate) async fn settings_unread(&self) -> Result<Option<String>, AppError> {
        let current = self.book.newest(Kind::Setting, THING).await?;
        let read = current.map(|r| serde_json::from_str::<Settings>(&r.form));
        Ok(read.and_then(Result::err).map(|why| why.to_string()))
    }

    /// Changes the settings as they stand and saves them as a new revision; when somebody saved others in between, the
    /// change is made again on those.
    ///
    /// # Errors
    /// What the change refuses; a value that can't be; what the book tells.
    pub async fn change_settings(
        &self,
        change: impl Fn(Settings) -> Result<Settings, AppError>,
    ) -> Result<Settings, AppError> {
        for _ in 0..MOST_TRIES {
            let (before, base) = self.settings_at().await?;
            let settings = change(before.clone())?;
            settings.check()?;
            if before == settings && base.is_some() {
                return Ok(settings);
            }
            let form =
                serde_json::to_string(&settings).map_err(|e| AppError::BrokenOff(e.to_string()))?;
            let save = Save {
                kind: Kind::Setting,
                thing: THING.to_owned(),
                base,
                who: settings.who.clone(),
                when: now(),
                why: None,
                title: "Settings".to_owned(),
                form_version: FORM_VERSION,
                form,
            };
            // Who takes another name takes their unsaved changes along.
            let saved = self.book.save_name(save, &before.who).await;
            if let Ok(mut kept) = self.settings.0.write() {
                *kept = None;
            }
            match saved {
                Ok(_) => return Ok(settings),
                Err(SaveError::Stale { .. }) => {}
                Err(other) => return Err(other.into()),
            }
        }
        Err(AppError::Busy)
    }
}
