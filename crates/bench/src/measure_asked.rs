//! A response as a trial asks for it.

use serde::{Deserialize, Serialize};
use trials::response::{Better, Kind, Response};

/// What is to be measured on every batch, and how.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Asked {
    /// Column name in tables.
    pub id: String,
    /// Name shown.
    pub name: String,
    /// Unit; empty for a pure number.
    #[serde(default)]
    pub unit: String,
    /// How it is measured. Two methods are not mixed in one comparison.
    #[serde(default)]
    pub method: String,
    /// How many readings a batch gets.
    #[serde(default = "one")]
    pub repeats: u32,
    /// Values below are probably slips.
    #[serde(default)]
    pub low: Option<f64>,
    /// Values above are probably slips.
    #[serde(default)]
    pub high: Option<f64>,
    /// What kind of number it is.
    pub kind: Kind,
    /// Which way is better.
    pub better: Better,
    /// A difference from the control that is too small to matter, told before the trial.
    #[serde(default)]
    pub margin: Option<f64>,
}

const fn one() -> u32 {
    1
}

impl Asked {
    /// A response of the trade, with its usual limits.
    pub fn of(response: Response, repeats: u32) -> Self {
        let about = response.about();
        Self {
            id: about.id.to_owned(),
            name: about.name.to_owned(),
            unit: about.unit.to_owned(),
            method: about.method.to_owned(),
            repeats,
            low: Some(about.plausible.low),
            high: Some(about.plausible.high),
            kind: about.kind,
            better: about.better,
            margin: None,
        }
    }

    /// A response of one's own: a measured amount with nothing else known of it.
    pub fn own(name: &str, unit: &str) -> Self {
        Self {
            id: column_of(name),
            name: name.trim().to_owned(),
            unit: unit.trim().to_owned(),
            method: String::new(),
            repeats: 1,
            low: None,
            high: None,
            kind: Kind::Continuous,
            better: Better::Target,
            margin: None,
        }
    }

    /// Reads `breaking_force_n`, `breaking_force_n:8` with eight readings a batch, `breaking_force_n:8:5` with a margin
    /// of 5 as well; or a response of one's own with its unit, `crumbs (g):3`.
    ///
    /// ```
    /// use bench::Asked;
    /// let asked = Asked::read("breaking_force_n:8:5").unwrap();
    /// assert_eq!((asked.repeats, asked.margin), (8, Some(5.0)));
    /// assert_eq!(Asked::read("crumbs (g)").unwrap().unit, "g");
    /// assert!(Asked::read("force:many").is_err());
    /// ```
    ///
    /// # Errors
    /// What can't be read, and how it is written.
    pub fn read(text: &str) -> Result<Self, String> {
        let wrong = |what: &str| {
            format!(
                "‘{text}’: {what}; write a response, readings a batch and a margin, e.g. breaking_force_n:8 or crumbs (g):3:0.5"
            )
        };
        let mut parts = text.split(':').map(str::trim);
        let name = parts.next().unwrap_or_default();
        if name.is_empty() {
            return Err(wrong("it has no name"));
        }
        let repeats = match parts.next() {
            None | Some("") => 1,
            Some(n) => n
                .parse()
                .ok()
                .filter(|n| (1..=10_000).contains(n))
                .ok_or_else(|| wrong("the readings a batch aren’t a number from 1 to 10 000"))?,
        };
        let margin = match parts.next() {
            None | Some("") => None,
            Some(m) => Some(
                m.parse::<f64>()
                    .ok()
                    .filter(|m| *m > 0.0 && m.is_finite())
                    .ok_or_else(|| wrong("the margin isn’t a number above 0"))?,
            ),
        };
        if parts.next().is_some() {
            return Err(wrong("it has too many colons"));
        }
        let mut asked = match Response::find(name) {
            Some(response) => Self::of(response, repeats),
            None => {
                let (name, unit) = match name.strip_suffix(')').and_then(|n| n.rsplit_once('(')) {
                    Some((name, unit)) => (name, unit),
                    None => (name, ""),
                };
                Self::own(name, unit)
            }
        };
        if asked.id.is_empty() {
            return Err(wrong("its name has no letters"));
        }
        asked.repeats = repeats;
        asked.margin = margin;
        Ok(asked)
    }

    /// The response of the trade that it is.
    pub fn known(&self) -> Option<Response> {
        Response::find(&self.id)
    }

    /// Whether a value lies beyond what is plausible.
    pub fn is_beyond(&self, value: f64) -> bool {
        self.low.is_some_and(|low| value < low) || self.high.is_some_and(|high| value > high)
    }
}

/// The name of a column for a name: lower case, words joined by underlines.
fn column_of(name: &str) -> String {
    let plain = name.trim().to_lowercase();
    let joined: Vec<&str> = plain
        .split(|c: char| !c.is_alphanumeric())
        .filter(|w| !w.is_empty())
        .collect();
    joined.join("_")
}
