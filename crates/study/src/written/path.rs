//! The way to a value of a study, such as `treatment[barley].lines[3].amount`.

use std::fmt;

/// One step of a way: a key, and which of several tables under it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Step {
    /// The key; one that no table has stands as it was written.
    pub key: String,
    /// Which of several.
    pub which: Option<Which>,
}

/// Which of several tables under a key.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Which {
    /// The one with an id.
    Id(String),
    /// By its number, from 1.
    Number(usize),
}

/// The way to a value; empty for the whole study.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Path(pub Vec<Step>);

impl Path {
    /// Whether it is the whole study.
    pub fn is_whole(&self) -> bool {
        self.0.is_empty()
    }

    /// The treatment that the value belongs to; none for the study's own.
    pub fn treatment(&self) -> Option<&str> {
        match self.0.first() {
            Some(Step {
                key,
                which: Some(Which::Id(id)),
            }) if key == super::tables::RootRow::treatment.name => Some(id),
            _ => None,
        }
    }

    /// The steps below the treatment, or all when it is the study's own.
    fn own(&self) -> &[Step] {
        &self.0[usize::from(self.treatment().is_some())..]
    }

    /// The section, e.g. `piece`, that the value belongs to, be it the study's or a treatment's.
    pub fn section(&self) -> Option<&str> {
        self.own().first().map(|step| step.key.as_str())
    }

    /// The way below its section.
    pub fn below_section(&self) -> Self {
        Self(self.own().iter().skip(1).cloned().collect())
    }
}

impl fmt::Display for Path {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, step) in self.0.iter().enumerate() {
            if i > 0 {
                f.write_str(".")?;
            }
            f.write_str(&step.key)?;
            match &step.which {
                None => {}
                Some(Which::Id(id)) => write!(f, "[{id}]")?,
                Some(Which::Number(n)) => write!(f, "[{n}]")?,
            }
        }
        Ok(())
    }
}

/// Where a reader stands: a way that costs nothing until a problem wants it.
#[derive(Clone, Copy, Debug)]
pub(super) struct At<'a> {
    above: Option<&'a At<'a>>,
    key: &'a str,
    which: Option<WhichAt<'a>>,
}

#[derive(Clone, Copy, Debug)]
enum WhichAt<'a> {
    Id(&'a str),
    Number(usize),
}

impl<'a> At<'a> {
    /// The whole study.
    pub const WHOLE: Self = At {
        above: None,
        key: "",
        which: None,
    };

    /// A key below.
    pub fn key(&'a self, key: &'a str) -> Self {
        At {
            above: Some(self),
            key,
            which: None,
        }
    }

    /// Of the tables under this key the one with an id.
    pub fn with_id(self, id: &'a str) -> Self {
        At {
            which: Some(WhichAt::Id(id)),
            ..self
        }
    }

    /// Of the tables under this key the one with a number, from 0; told from 1.
    pub fn nth(self, index: usize) -> Self {
        At {
            which: Some(WhichAt::Number(index + 1)),
            ..self
        }
    }

    /// The same as a path of its own.
    pub fn path(&self) -> Path {
        let Some(above) = self.above else {
            return Path::default();
        };
        let mut path = above.path();
        path.0.push(Step {
            key: self.key.chars().take(80).collect(),
            which: self.which.map(|which| match which {
                WhichAt::Id(id) => Which::Id(id.to_owned()),
                WhichAt::Number(n) => Which::Number(n),
            }),
        });
        path
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ways_tell_whose_and_which_section() {
        let whole = At::WHOLE;
        let treatment = whole.key("treatment").with_id("barley");
        let docker = treatment.key("piece");
        let docker = docker.key("docker");
        let path = docker.key("count").path();
        assert_eq!(path.to_string(), "treatment[barley].piece.docker.count");
        assert_eq!(path.treatment(), Some("barley"));
        assert_eq!(path.section(), Some("piece"));
        assert_eq!(path.below_section().to_string(), "docker.count");
        let oven = whole.key("oven");
        let zone = oven.key("zone").nth(0).path();
        assert_eq!(zone.to_string(), "oven.zone[1]");
        assert_eq!((zone.treatment(), zone.section()), (None, Some("oven")));
        assert!(whole.path().is_whole() && whole.path().to_string().is_empty());
    }
}
