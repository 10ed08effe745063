//! The words of a problem: what was found, what is allowed, what to write instead.

use super::what::{Allowed, ClimateFault, Found, Kind, PointsFault, What};
use crate::written::field::{self, Field, in_unit, one_of};
use crate::written::{MOST_BYTES, VERSION, reader::as_id, unit};
use measure::names::closest;
use measure::{Apart, Range, Units};
use std::fmt;

/// A problem in words, each a sentence or less without a full stop.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Words {
    /// What was found.
    pub message: String,
    /// What is allowed; may be empty.
    pub allowed: String,
    /// What to write instead; may be empty.
    pub way_out: String,
}

impl Words {
    fn new(message: impl Into<String>) -> Self {
        Self {
            message: message.into(),
            ..Self::default()
        }
    }

    fn allowed(self, allowed: impl Into<String>) -> Self {
        Self {
            allowed: allowed.into(),
            ..self
        }
    }

    fn way_out(self, way_out: impl Into<String>) -> Self {
        Self {
            way_out: way_out.into(),
            ..self
        }
    }
}

impl fmt::Display for Words {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)?;
        if !self.allowed.is_empty() {
            write!(f, "; allowed: {}", self.allowed)?;
        }
        if !self.way_out.is_empty() {
            write!(f, "; {}", self.way_out)?;
        }
        Ok(())
    }
}

impl What {
    /// What is wrong, for a person who reads in these units. What a file wants stays in the file's units; others
    /// stand behind it.
    pub fn words(&self, units: Units) -> Words {
        let kind = |field: &Field| field.kind.words_in(units);
        let apart = |error: &dyn Apart| {
            let (found, way_out) = error.apart(units);
            Words::new(found).way_out(way_out)
        };
        match self {
            Self::Syntax { told } => Words::new(format!("not TOML: {told}"))
                .way_out("write key = value, texts in quotes, tables as [name]"),
            Self::TooLarge { bytes } => Words::new(format!(
                "the text has {bytes} bytes, more than a study can have"
            ))
            .allowed(format!("at most {MOST_BYTES} bytes"))
            .way_out("is this the right file?"),
            Self::Version { found } => {
                Words::new(format!("this is version {found} of the written form"))
                    .allowed(format!("version {VERSION}"))
                    .way_out(if *found > VERSION {
                        "a newer program may read it"
                    } else {
                        "write hardtack = 1"
                    })
            }
            Self::UnknownKey {
                table,
                key,
                keys,
                near,
                under,
            } => Words::new(format!("{table} has no key {}", code_quote(key)))
                .allowed(keys.join(", "))
                .way_out(if under.is_empty() {
                    did_you_mean(near)
                } else {
                    let under: Vec<_> = under.iter().map(|u| format!("[{u}]")).collect();
                    format!("write it under {}", under.join(" or "))
                }),
            Self::KeyInAnotherUnit {
                key,
                unit,
                meant,
                converted,
            } => {
                let wants = unit::shown(meant.key).unwrap_or_default();
                Words::new(match unit {
                    None => format!("{} doesn't say its unit", code_quote(key)),
                    Some(unit) => {
                        format!(
                            "{} is in {unit}, and this table wants {wants}",
                            code_quote(key)
                        )
                    }
                })
                .allowed(format!("`{}`, {}", meant.key, kind(meant)))
                .way_out(match converted {
                    Some(v) => format!("write {} = {v}", meant.key),
                    None => format!("write {} = … in {wants}", meant.key),
                })
            }
            Self::NumberInQuotes {
                text,
                field,
                unit,
                converted,
            } => {
                let number = format!("number{}", in_unit(field.kind.unit()));
                let belongs = format!("{} is a text, and a {number} belongs here", quote(text));
                match (converted, unit) {
                    (Some(value), _) => {
                        Words::new(belongs).way_out(format!("write {} = {value}", field.key))
                    }
                    (None, Some(_)) => Words::new(format!(
                        "{} can't be turned into a {number}",
                        quote(text)
                    ))
                    .way_out(format!("write the {number} without quotes")),
                    (None, None) => Words::new(belongs),
                }
                .allowed(kind(field))
            }
            Self::WrongType { found, field } => Words::new(format!(
                "found {}, and {} belongs here",
                found.word(),
                short_kind(&field.kind)
            ))
            .allowed(kind(field))
            .way_out(example(field)),
            Self::NotText {
                found,
                field,
                shown,
            } => Words::new(format!("a text belongs here, found {}", found.word()))
                .allowed(kind(field))
                .way_out(shown.as_ref().map_or_else(String::new, |shown| {
                    format!("put it in quotes: {} = \"{shown}\"", field.key)
                })),
            Self::NotInline { found } => {
                Words::new(format!("{{ … }} belongs here, found {}", found.word()))
                    .allowed("an inline table, e.g. { material = \"salt\", amount = 0.4 }")
            }
            Self::NotFinite { found, field } => {
                Words::new(format!("{found} isn't a number that can be reckoned with"))
                    .allowed(kind(field))
            }
            Self::NotWhole {
                found,
                field,
                nearest,
            } => Words::new(format!("{found} isn't a whole number"))
                .allowed(kind(field))
                .way_out(format!("write {nearest}")),
            Self::OutOfRange {
                found,
                unit,
                allowed,
            } => Words::new(format!(
                "{} is outside the allowed range",
                number(*found, unit, units)
            ))
            .allowed(range(*allowed, unit, units))
            .way_out(format!(
                "the nearest allowed value is {}",
                allowed.clamp(*found)
            )),
            Self::TooLong { length, most } => {
                Words::new(format!("this text has {length} characters"))
                    .allowed(format!("at most {most} characters"))
                    .way_out("shorten it")
            }
            Self::ControlCharacter(c) => Words::new(format!(
                "this text holds the control character {}",
                code_point(*c)
            ))
            .allowed("printable characters, tabs and line ends")
            .way_out("take it out"),
            Self::NotAName { text } => {
                let plain = as_id(text);
                let words = Words::new(format!("{} isn't a short name", quote(text)))
                    .allowed("1 to 60 of a–z, 0–9, _ and -");
                if plain.is_empty() {
                    words
                } else {
                    words.way_out(format!("write \"{plain}\""))
                }
            }
            Self::NotACurrency { text } => Words::new(format!("{} isn't a currency", quote(text)))
                .allowed("three capital letters")
                .way_out("write \"EUR\" or \"USD\""),
            Self::UnknownChoice { word, words } => {
                Words::new(format!("{} isn't one of the choices", quote(word)))
                    .allowed(one_of(words))
                    .way_out(did_you_mean(&closest(word, words.iter().copied())))
            }
            Self::Missing(field) => {
                Words::new(format!("`{}` is missing: {}", field.key, field.doc))
                    .allowed(kind(field))
                    .way_out(example(field))
            }
            Self::Wanted { field, why } => {
                Words::new(format!("`{}` is missing: {why}", field.key))
                    .allowed(kind(field))
                    .way_out(format!("write {} = …", field.key))
            }
            Self::NoForm { keys, marks } => {
                let near: Vec<&str> = keys
                    .iter()
                    .flat_map(|k| closest(k, marks.iter().copied()))
                    .take(3)
                    .collect();
                Words::new(if keys.is_empty() {
                    "this line is empty".to_owned()
                } else {
                    format!("can't tell what this line does from {}", keys.join(", "))
                })
                .allowed(format!("one of {}", marks.join(", ")))
                .way_out(did_you_mean(&near))
            }
            Self::ManyForms { marks } => {
                Words::new(format!("{} exclude each other", marks.join(" and ")))
                    .allowed("one change a line")
                    .way_out("write them as separate lines")
            }
            Self::TooMany { found, most } => {
                Words::new(format!("{found} are more than a study holds"))
                    .allowed(format!("at most {most}"))
                    .way_out("split the study in two")
            }
            Self::NoTreatments => Words::new("a study needs at least one treatment")
                .way_out("add a section [[treatment]]"),
            Self::UnknownTreatment { wanted, there } => {
                let there = || there.iter().map(String::as_str);
                Words::new(format!("there is no treatment {}", quote(wanted)))
                    .allowed(first_ones(there()))
                    .way_out(did_you_mean(&closest(wanted, there())))
            }
            Self::UnknownMaterial { id, near } => {
                Words::new(format!("there is no material {}", quote(id)))
                    .allowed("a material of the shelf (`hardtack material list`) or of this file")
                    .way_out(if near.is_empty() {
                        format!("describe it: [[material]] with id = \"{id}\"")
                    } else {
                        did_you_mean(near)
                    })
            }
            Self::TwoTreatments { id } => {
                Words::new(format!("there are two treatments {}", quote(id)))
                    .allowed("every id once")
                    .way_out("give one of them another id")
            }
            Self::TwoMaterials { id } => {
                Words::new(format!("there are two materials {}", quote(id)))
                    .allowed("every id once")
                    .way_out("put both into one section, or give one another id")
            }
            Self::TreatmentsInARound { ids } => Words::new(match &ids[..] {
                [one] => format!("{} starts from itself", quote(one)),
                several => format!("{} start from each other", several.join(", ")),
            })
            .way_out("write one of them out in full, with lines"),
            Self::MaterialsInARound { ids } => {
                Words::new(format!("{} are made from each other", ids.join(", ")))
                    .way_out("let one of them start from a material of the shelf")
            }
            Self::ChangesAlone => Words::new("changes need a treatment to start from")
                .way_out("write from = \"…\" in place of lines, or leave the changes out"),
            Self::FromAndLines => Words::new("`from` and `lines` exclude each other")
                .allowed("lines alone, or from with changes")
                .way_out("take one of them out"),
            Self::NoFormula { id } => {
                Words::new(format!("treatment {} has no formula", quote(id)))
                    .allowed("lines, or from with changes")
                    .way_out("write lines = [ { material = \"…\", amount = … }, … ]")
            }
            Self::BalanceHasAmount => {
                Words::new("a balance line takes the rest and has no amount of its own")
                    .way_out("take amount out, or balance")
            }
            Self::NoAmount => Words::new("this line has no amount").way_out(
                "write amount = …, or balance = true for the one line that takes the rest",
            ),
            Self::TwoBalances => Words::new("there are two balance lines")
                .allowed("one")
                .way_out("give one of them an amount"),
            Self::BalanceOfParts => {
                Words::new("parts have no whole that a balance line could fill up")
                    .way_out("give the line an amount, or write percent_of = \"mix\"")
            }
            Self::Either { one, other } => {
                Words::new(format!("{one} and {other} exclude each other"))
                    .way_out("take one of them out")
            }
            Self::PresetHasKind => Words::new("a preset has its kind")
                .way_out("take preset out and write the oven in full, or take kind out"),
            Self::Idle { of, key, has, or } => Words::new(format!("a {of} has no {key}"))
                .allowed(has.join(", "))
                .way_out(format!("take it out, or write another {or}")),
            Self::IdlePlaces {
                pattern,
                key,
                owner,
            } => Words::new(format!("a {pattern} of docker holes has no {key}"))
                .way_out(format!("take it out, or write pattern = \"{owner}\"")),
            Self::OtherFormer {
                former,
                forming,
                fits,
            } => Words::new(format!(
                "the former is a {former}, and the dough is formed \"{forming}\""
            ))
            .allowed(format!("\"{fits}\""))
            .way_out("write a former of its own for this treatment, or another forming"),
            Self::SpreadAlone { key } => Words::new(format!(
                "the spread of {key} is given, and its value isn't"
            ))
            .way_out(format!("write {key} in the material too")),
            Self::Alone { there, missing } => {
                Words::new(format!("{there} is given, and {missing} isn't"))
                    .way_out(format!("write {missing} too"))
            }
            Self::UptakeSpreadAlone => {
                Words::new("the spread of the water uptake is given, and the water uptake isn't")
                    .way_out("write water_uptake_kg_per_kg too")
            }
            Self::PriceTwice => Words::new("price_per_kg and a price range exclude each other")
                .way_out("keep price_per_kg, or price_low_per_kg with price_high_per_kg"),
            Self::HalfAPrice { missing } => Words::new(format!(
                "a price range has two ends, and {missing} isn't written"
            ))
            .way_out(format!("write {missing} too, or price_per_kg alone")),
            Self::Climate(fault) => Words::new(match fault {
                ClimateFault::Spells { found, most } => {
                    format!("the climate has {found} spells; at most {most} share a year")
                }
                ClimateFault::Spell(spell) => format!("‘{spell}’ is no climate"),
            })
            .allowed(format!(
                "temperature {STORE_C} °C{} / relative humidity 0 to 100 %, with a point for decimals",
                units.also(&[STORE_C.low, STORE_C.high], "°C")
            ))
            .way_out("write \"25/65\", or \"10/60, 30/75\" for two halves of a year"),
            Self::Points { key, fault } => Words::new(match fault {
                PointsFault::Word(word) => format!("\"{word}\" in {key} isn't a number"),
                PointsFault::Odd(n) => {
                    format!("{key} holds {n} numbers, and x,y pairs are wanted")
                }
                PointsFault::None => format!("{key} holds no points"),
            })
            .allowed("x,y pairs in mm with a point for decimals")
            .way_out("write \"0,0 60,0 30,40\""),
            Self::Piece(error) => apart(error),
            Self::Path(error) => apart(error),
            Self::Holes(error) => apart(error),
            Self::Readings(error) => apart(error),
            Self::LimitsCross { least, most } => Words::new(format!(
                "at_least is {least} and at_most {most}: nothing keeps both"
            ))
            .allowed("at_least no more than at_most")
            .way_out("exchange the two, or leave one out"),
            Self::LearnedTwice(of) => Words::new(format!("{of} is learned twice"))
                .way_out("keep one line for each; a fit is best taken up anew"),
            Self::NotTogether => Words::new("these correlations can't all hold at once")
                .allowed("pairs of two different lines that are there")
                .way_out("a fit is best taken up anew"),
            Self::Oven(error) => apart(error),
            Self::Line(error) => apart(error),
            Self::Formula(error) => apart(error),
            Self::Change(error) => apart(error),
            Self::Material(error, near) => Words::new(error.joined()).way_out(
                near.as_ref().map_or_else(String::new, |near| {
                    format!("for a known one write from = \"{near}\"")
                }),
            ),
        }
    }
}

/// Temperatures of a store, °C, as the keeping takes them.
pub(in crate::written) const STORE_C: Range = Range::new(-20.0, 60.0);

impl Found {
    /// The value in words, for a person who reads in these units.
    pub fn words(&self, units: Units) -> String {
        match self {
            Self::Number { value, unit } => format!("{value}{}", units.also(&[*value], unit)),
            Self::Text(text) => {
                let cut: String = text.chars().take(40).flat_map(printable).collect();
                let more = if text.chars().count() > 40 { "…" } else { "" };
                format!("‘{cut}{more}’")
            }
            Self::Flag(flag) => flag.to_string(),
            Self::Letters(n) => format!("{n} letters long"),
            Self::Control(c) => format!("a text with the control character {}", code_point(*c)),
            Self::Count(n) => n.to_string(),
            Self::Empty => "empty".to_owned(),
            Self::Other(words) => (*words).to_owned(),
        }
    }
}

impl Allowed {
    /// What is allowed in words, for a person who reads in these units.
    pub fn words(&self, units: Units) -> String {
        match self {
            Self::Range { range: r, unit } => range(*r, unit, units),
            Self::Field(field) => field.kind.words_in(units),
            Self::OneOf(words) => one_of(words),
            Self::Letters { least: 0, most } => format!("at most {most} letters"),
            Self::Letters { least, most } => format!("a text of {least} to {most} letters"),
            Self::AtMost(most) => format!("at most {most}"),
            Self::AtLeast { value, why } => format!("at least {value}, {why}"),
            Self::Words(words) => (*words).to_owned(),
        }
    }
}

impl Kind {
    /// The kind of a TOML value by its type's name.
    pub(in crate::written) fn of(toml: &str) -> Self {
        match toml {
            "string" => Self::Text,
            "integer" | "float" => Self::Number,
            "boolean" => Self::Flag,
            "datetime" => Self::Date,
            "array" => Self::Array,
            "array of tables" => Self::Tables,
            _ => Self::Table,
        }
    }

    const fn word(self) -> &'static str {
        match self {
            Self::Text => "a text",
            Self::Number => "a number",
            Self::Flag => "true or false",
            Self::Date => "a date",
            Self::Array => "an array",
            Self::Tables => "several tables",
            Self::Table => "a table",
        }
    }
}

/// "did you mean a, b or c?" or nothing.
pub fn did_you_mean(names: &[impl AsRef<str>]) -> String {
    let ticked = |n: &dyn AsRef<str>| format!("`{}`", n.as_ref());
    match names {
        [] => String::new(),
        [one] => format!("did you mean {}?", ticked(one)),
        [rest @ .., last] => {
            let rest: Vec<_> = rest.iter().map(|n| ticked(n)).collect();
            format!("did you mean {} or {}?", rest.join(", "), ticked(last))
        }
    }
}

/// A number with its unit, told in the unit read as well.
fn number(n: f64, unit: &str, units: Units) -> String {
    if unit.is_empty() {
        format!("{n}")
    } else {
        format!("{n} {unit}{}", units.also(&[n], unit))
    }
}

/// A range with its unit, told in the unit read as well.
fn range(r: Range, unit: &str, units: Units) -> String {
    if unit.is_empty() {
        r.to_string()
    } else {
        format!("{r} {unit}{}", units.also(&[r.low, r.high], unit))
    }
}

/// A word as found, in quotes, cut where it is long.
fn quote(text: &str) -> String {
    let mut cut: String = text.chars().take(40).flat_map(printable).collect();
    if text.chars().count() > 40 {
        cut.push('…');
    }
    format!("\"{cut}\"")
}

fn code_quote(text: &str) -> String {
    quote(text).replace('"', "`")
}

/// Control characters as escapes, so that a word is shown as it was typed.
fn printable(c: char) -> Vec<char> {
    if c.is_control() {
        c.escape_default().collect()
    } else {
        vec![c]
    }
}

fn code_point(c: char) -> String {
    format!("U+{:04X}", u32::from(c))
}

/// The first twenty names.
fn first_ones<'a>(names: impl Iterator<Item = &'a str>) -> String {
    let all: Vec<_> = names.collect();
    let mut out = all.iter().take(20).copied().collect::<Vec<_>>().join(", ");
    if all.len() > 20 {
        out.push_str(", …");
    }
    out
}

const fn short_kind(kind: &field::Kind) -> &'static str {
    use field::Kind;
    match kind {
        Kind::Text(_) | Kind::Choice(_) => "a text",
        Kind::Id | Kind::Material | Kind::Treatment => "a short name in quotes",
        Kind::Number(..) => "a number",
        Kind::Whole(_) => "a whole number",
        Kind::Flag => "true or false",
        Kind::Choices(_) => "an array of words",
        Kind::Table(_) | Kind::Inline(_) => "a table",
        Kind::Tables(..) => "[[…]] tables",
        Kind::Lines(..) | Kind::Forms(..) => "an array of { … }",
    }
}

/// How a field is written, for a person who has left it out or has mistaken its type.
fn example(field: &Field) -> String {
    use field::Kind;
    match field.kind {
        Kind::Text(_) => format!("write {} = \"…\"", field.key),
        Kind::Id | Kind::Material | Kind::Treatment => {
            format!("write {} = \"some_name\"", field.key)
        }
        Kind::Number("", _) | Kind::Whole(_) => format!("write {} = a number", field.key),
        Kind::Number(unit, _) => format!("write {} = a number{}", field.key, in_unit(unit)),
        Kind::Flag => format!("write {} = true", field.key),
        Kind::Choice(words) => match words().first() {
            Some(word) => format!("write {} = \"{word}\"", field.key),
            None => String::new(),
        },
        Kind::Choices(words) => match words().first() {
            Some(word) => format!("write {} = [\"{word}\"]", field.key),
            None => String::new(),
        },
        Kind::Table(_) => format!("add a section [{}]", field.key),
        Kind::Inline(_) => format!("write {} = {{ … }}", field.key),
        Kind::Tables(..) => format!("add a section [[{}]]", field.key),
        Kind::Lines(..) | Kind::Forms(..) => format!("write {} = [ {{ … }}, … ]", field.key),
    }
}
