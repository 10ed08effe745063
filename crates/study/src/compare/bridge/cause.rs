//! What a treatment has of its own against the control, and mixtures of the two.

use crate::model::{Treatment, WaterChoice};
use formula::material::Category;
use formula::{Formula, Line, Stage};
use measure::rounding;

/// How far amounts may differ and still count as the same, of the amount.
const SAME: f64 = 1e-6;

/// The share of what went out below which what came in isn't named, and the other way round.
const HARDLY: f64 = 0.2;

/// What a cause exchanges.
#[derive(Clone, Debug)]
enum Exchanges {
    /// Lines of the formula, by stage and material.
    Lines(Vec<(Stage, String)>),
    /// The added water.
    Water,
    /// A part of everything but the formula.
    Section(&'static Section),
}

/// Something that a treatment has of its own.
#[derive(Clone, Debug)]
pub struct Cause {
    /// What it is, in words.
    pub words: String,
    exchanges: Exchanges,
}

/// A part of everything but the formula that is exchanged as a whole.
#[derive(Debug)]
struct Section {
    words: &'static str,
    differs: fn(&Treatment, &Treatment) -> bool,
    take: fn(&mut Treatment, &Treatment),
}

macro_rules! section {
    ($words:literal, $($($field:ident).+),+) => {
        Section {
            words: $words,
            differs: |a, b| $(a.$($field).+ != b.$($field).+)||+,
            take: |a, b| { $(a.$($field).+ = b.$($field).+.clone();)+ },
        }
    };
}

/// The parts beside the formula, in the order of the work. A piece goes with its place on the band.
static SECTIONS: [Section; 11] = [
    section!("mixing and forming", setting.process),
    section!("the dough’s own numbers", setting.dough),
    section!(
        "the piece",
        setting.piece,
        setting.docker_pattern,
        setting.edge_path_share,
        setting.layout
    ),
    section!("the oven’s setting", setting.oven),
    section!("the time it is given", setting.bake_time_s),
    section!("the target", target),
    section!("cooling", setting.cooling),
    section!("the closed pack", setting.pack),
    section!("film and store", setting.keeping),
    section!("the line", setting.line),
    section!("what was learned", setting.learned),
];

/// Lines that are exchanged together: what does the same work in a dough.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Group {
    Flour,
    Protein,
    Fat,
    Other(&'static str),
}

impl Group {
    fn of(line: &Line) -> Self {
        match line.material.category {
            _ if line.is_flour => Self::Flour,
            Category::ProteinPlant
            | Category::ProteinAnimal
            | Category::Dairy
            | Category::Fermentation => Self::Protein,
            Category::FatOil | Category::Spread => Self::Fat,
            other => Self::Other(other.word()),
        }
    }
}

/// What a treatment has of its own, in the order of the work: lines of the formula by what they do, water, settings.
/// `water` are both waters in kg per 100 kg dry mix; none where it isn't a cause.
pub fn causes(ends: [&Treatment; 2], water: Option<[f64; 2]>) -> Vec<Cause> {
    let [control, treatment] = ends;
    let mut causes = line_causes(ends);
    if let Some([there, here]) = water.filter(|[a, b]| !same(*a, *b)) {
        let more = if here > there { "more" } else { "less" };
        let by_need = match treatment.water {
            WaterChoice::FromNeed => ", by need",
            WaterChoice::Given => "",
        };
        causes.push(Cause {
            words: format!("{more} water{by_need}"),
            exchanges: Exchanges::Water,
        });
    }
    if water.is_none()
        && (control.water != treatment.water
            || (treatment.water == WaterChoice::Given
                && !same(
                    control.formula.water_kg_per_100kg_dry_mix(),
                    treatment.formula.water_kg_per_100kg_dry_mix(),
                )))
    {
        causes.push(Cause {
            words: "how the water is given".to_owned(),
            exchanges: Exchanges::Water,
        });
    }
    let differs = |s: &&Section| (s.differs)(control, treatment);
    causes.extend(SECTIONS.iter().filter(differs).map(|s| Cause {
        words: match s.words {
            "the piece" => piece_words(ends),
            words => words.to_owned(),
        },
        exchanges: Exchanges::Section(s),
    }));
    causes
}

fn piece_words([control, treatment]: [&Treatment; 2]) -> String {
    let (there, here) = (&control.setting.piece, &treatment.setting.piece);
    let only_thickness = here.outline == there.outline && here.docker == there.docker;
    if only_thickness && here.thickness_m != there.thickness_m {
        let more = if here.thickness_m > there.thickness_m {
            "thicker"
        } else {
            "thinner"
        };
        let mm = rounding::signed(1e3 * (here.thickness_m - there.thickness_m), 1);
        return format!("a {more} piece ({mm} mm)");
    }
    "the piece".to_owned()
}

fn same(a: f64, b: f64) -> bool {
    (a - b).abs() <= SAME * a.abs().max(b.abs()).max(SAME)
}

/// Dry lines of both on one scale, on which most that both have are the same where there is such a one: the control's, then the treatment's.
fn dry_lines([control, treatment]: [&Treatment; 2]) -> [Vec<Line>; 2] {
    let dry = |t: &Treatment| {
        let formula = t.formula.scaled(100.0 / t.formula.dry_mix());
        let lines = formula.lines().iter();
        let dry: Vec<Line> = lines.filter(|l| !l.material.is_water()).cloned().collect();
        dry
    };
    let (there, mut here) = (dry(control), dry(treatment));
    let ratios: Vec<f64> = here
        .iter()
        .filter_map(|l| Some(l.parts / find(&there, l)?.parts))
        .filter(|r| r.is_finite() && *r > 0.0)
        .collect();
    let alike = |r: f64| ratios.iter().filter(|other| same(r, **other)).count();
    // What was rescaled because another line was changed is no change of its own.
    let common = ratios
        .iter()
        .copied()
        .max_by_key(|r| alike(*r))
        .filter(|r| 2 * alike(*r) > ratios.len());
    for line in &mut here {
        line.parts /= common.unwrap_or(1.0);
    }
    [there, here]
}

fn find<'l>(lines: &'l [Line], like: &Line) -> Option<&'l Line> {
    lines
        .iter()
        .find(|l| l.stage == like.stage && l.material.id == like.material.id)
}

/// How much of a line there is.
fn parts(lines: &[Line], like: &Line) -> f64 {
    find(lines, like).map_or(0.0, |l| l.parts)
}

fn line_causes(ends: [&Treatment; 2]) -> Vec<Cause> {
    let [there, here] = dry_lines(ends);
    let gone = there.iter().filter(|l| find(&here, l).is_none());
    let moved = here
        .iter()
        .chain(gone)
        .filter(|l| !same(parts(&here, l), parts(&there, l)));
    let mut groups: Vec<(Group, Vec<&Line>)> = Vec::new();
    for line in moved {
        let group = Group::of(line);
        match groups.iter_mut().find(|(g, _)| *g == group) {
            Some((_, lines)) => lines.push(line),
            None => groups.push((group, vec![line])),
        }
    }
    groups.sort_by_key(|(group, _)| *group);
    groups
        .into_iter()
        .map(|(_, lines)| Cause {
            words: words(&lines, &there, &here),
            exchanges: Exchanges::Lines(
                lines
                    .iter()
                    .map(|l| (l.stage, l.material.id.clone()))
                    .collect(),
            ),
        })
        .collect()
}

/// What is done with the lines of a group.
fn words(lines: &[&Line], there: &[Line], here: &[Line]) -> String {
    let (more, less): (Vec<&Line>, Vec<&Line>) =
        lines.iter().partition(|l| parts(here, l) > parts(there, l));
    // What hardly came in or went out beside the rest has no part in it.
    let mass = |lines: &[&Line]| -> f64 {
        let moved = |l: &&Line| (parts(here, l) - parts(there, l)).abs();
        lines.iter().map(moved).sum()
    };
    let (came, went) = (mass(&more), mass(&less));
    let more = if came < HARDLY * went { vec![] } else { more };
    let less = if went < HARDLY * came { vec![] } else { less };
    match (&more[..], &less[..]) {
        ([], gone) if gone.iter().all(|l| find(here, l).is_none()) => {
            format!("no {}", names(gone))
        }
        ([], less) => format!("less {}", names(less)),
        (new, []) if new.iter().all(|l| find(there, l).is_none()) => format!("with {}", names(new)),
        (more, []) => format!("more {}", names(more)),
        (more, less) => format!("{} for {}", names(more), names(less)),
    }
}

fn names(lines: &[&Line]) -> String {
    // Without what stands behind a comma or in brackets, in the middle of a sentence.
    let name = |l: &&Line| {
        let name = l.material.name.split([',', '(']).next().unwrap_or_default();
        let mut letters = name.trim().chars();
        let first = letters.next().map(|c| c.to_lowercase().to_string());
        first.unwrap_or_default() + letters.as_str()
    };
    match lines {
        [one] => name(one),
        [one, two] => format!("{} and {}", name(one), name(two)),
        [one, rest @ ..] => format!("{} and {} others", name(one), rest.len()),
        [] => String::new(),
    }
}

/// The control with some of the treatment's causes in it; `water` of both in kg per 100 kg dry mix, which counts unless
/// it `follows` the need.
///
/// # Errors
/// A mixture that is no formula, in words.
pub fn mixed(
    ends: [&Treatment; 2],
    causes: &[Cause],
    has: impl Fn(usize) -> bool,
    water: [f64; 2],
    follows: bool,
) -> Result<Treatment, String> {
    let [control, treatment] = ends;
    let [there, here] = dry_lines(ends);
    let mut mixed = control.clone();
    let (mut lines, mut wet) = (there.clone(), 0);
    for (_, cause) in causes.iter().enumerate().filter(|(i, _)| has(*i)) {
        match &cause.exchanges {
            Exchanges::Lines(own) => {
                let of_these = |l: &Line| {
                    own.iter()
                        .any(|(s, id)| *s == l.stage && *id == l.material.id)
                };
                lines.retain(|l| !of_these(l));
                lines.extend(here.iter().filter(|l| of_these(l)).cloned());
            }
            Exchanges::Water => wet = 1,
            Exchanges::Section(section) => (section.take)(&mut mixed, treatment),
        }
    }
    let formula = Formula::new(lines).and_then(|f| f.with_water(water[wet]));
    mixed.formula = formula.map_err(|e| e.to_string())?;
    mixed.water = match (follows, wet) {
        (true, 0) => control.water,
        (true, _) => treatment.water,
        (false, _) => WaterChoice::Given,
    };
    Ok(mixed)
}
