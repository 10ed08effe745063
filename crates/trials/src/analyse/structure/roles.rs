//! Which column is treatment, block, unit and piece: as told, else by name and content.

use super::words::{
    ASIDE, BLOCK, COLUMN, DAY, EXPOSURE, PERIOD, PIECE, REPEATED, ROW, SEQUENCE, TIME, TREATMENT,
    UNIT, is, plain,
};
use super::{factor, stop, varies_within, wanted};
use crate::Code;
use crate::analyse::AnalysisRequest;
use crate::analyse::table::{Cell, Column, Key, Table};
use crate::stats::design::{Factor, cross};
use measure::{Finding, Severity};
use std::collections::HashMap;

/// Whether a column may be a treatment factor when nobody says so: few levels, each met often; of
/// numbers only few levels met about equally often, as a plan sets them and a measurement does not.
fn categorical(column: &Column, rows: &[usize]) -> bool {
    let mut labels: HashMap<Key, usize> = HashMap::new();
    let mut texts = false;
    for &row in rows {
        match &column.cells[row] {
            Cell::Empty => return false,
            Cell::Text(_) => texts = true,
            Cell::Number(_) | Cell::Written(..) => {}
        }
        if let Some(key) = column.cells[row].key() {
            *labels.entry(key).or_insert(0) += 1;
        }
        if labels.len() > 60 {
            return false;
        }
    }
    let known = crate::response::Response::find(&column.name).is_some();
    let most = if texts {
        rows.len() / 2
    } else {
        (rows.len() / 2).min(8)
    };
    let (fewest, commonest) = (labels.values().min(), labels.values().max());
    let even = fewest.zip(commonest).is_some_and(|(f, c)| *c <= 2 * f);
    labels.len() >= 2 && labels.len() <= most.max(2) && !known && (texts || even)
}

/// Which columns played no part.
pub(crate) fn columns_aside(names: &[&str]) -> Finding {
    Finding::new(
        Severity::Note,
        Code::ColumnsNotUsed,
        names.join(", "),
        format!("not used here: {}", names.join(", ")),
    )
    .help("name a column as treatment, block or unit if it was one; for an amount that was varied fit a trend, a surface or a mixture")
}

/// Who is who.
pub(super) struct Roles {
    pub treatments: Vec<Factor>,
    pub blocks: Vec<Factor>,
    pub repeated: bool,
    pub unit: Option<(Factor, bool)>,
    /// Larger units that hold several of `unit` (oven loads of batches).
    pub plots: Option<Factor>,
    pub piece: Option<Factor>,
    pub time: Option<Factor>,
    pub period: Option<Factor>,
    pub sequence: Option<Factor>,
    /// Columns of amounts measured beside the response.
    pub covariates: Vec<String>,
    /// Column of what was looked at, for counts without a total.
    pub exposure: Option<String>,
}

/// What is needed to look for roles.
struct Search<'a> {
    table: &'a Table,
    request: &'a AnalysisRequest,
    rows: &'a [usize],
    free: Vec<&'a Column>,
}

impl<'a> Search<'a> {
    fn filled(&self, c: &Column) -> bool {
        self.rows.iter().all(|&r| c.cells[r] != Cell::Empty)
    }

    fn named(&self, list: &[&str]) -> Option<&'a Column> {
        let fits = |c: &&Column| is(&c.name, list) && self.filled(c);
        self.free.iter().copied().find(fits)
    }

    /// A treatment or batch column with a gap is a problem to be told, not a column to be passed by.
    fn meant(&self, list: &[&str]) -> Option<&'a Column> {
        self.free.iter().copied().find(|c| is(&c.name, list))
    }

    fn factor(&self, c: &Column, findings: &mut Vec<Finding>) -> Result<Factor, Vec<Finding>> {
        factor(self.table, c, self.rows, findings)
    }

    fn told(
        &self,
        name: &str,
        role: &str,
        findings: &mut Vec<Finding>,
    ) -> Result<Factor, Vec<Finding>> {
        self.factor(wanted(self.table, name, role)?, findings)
    }
}

/// Finds the roles.
pub(super) fn roles(
    table: &Table,
    request: &AnalysisRequest,
    rows: &[usize],
    findings: &mut Vec<Finding>,
) -> Result<Roles, Vec<Finding>> {
    let told: Vec<&str> = request
        .treatments
        .iter()
        .chain(&request.blocks)
        .chain(&request.unit)
        .chain(&request.time)
        .chain(&request.period)
        .chain(&request.sequence)
        .chain(&request.covariates)
        .chain(&request.exposure)
        .chain(&request.plots)
        .chain(&request.out_of)
        .chain(std::iter::once(&request.response))
        .map(String::as_str)
        .collect();
    let free: Vec<&Column> = table
        .columns
        .iter()
        .filter(|c| !told.iter().any(|t| c.name.eq_ignore_ascii_case(t)))
        .collect();
    let search = Search {
        table,
        request,
        rows,
        free,
    };
    for name in &request.covariates {
        wanted(table, name, "covariate")?;
    }
    let mut unit = unit(&search, findings)?;
    let piece = match search.named(&PIECE) {
        Some(column) => Some(search.factor(column, findings)?),
        None => None,
    };
    let treatments = treatments(&search, unit.as_ref(), findings)?;
    let time = time(&search, unit.as_ref(), &treatments, findings)?;
    let not_time = |c: &&&Column| time.as_ref().is_none_or(|t| t.name != c.name);

    let mut blocks = Vec::new();
    for name in &request.blocks {
        blocks.push(search.told(name, "block", findings)?);
    }
    if request.blocks.is_empty() {
        let days = search.free.iter().filter(|c| is(&c.name, &BLOCK));
        for column in days.filter(|c| search.filled(c)).filter(not_time) {
            let found = search.factor(column, findings)?;
            if found.levels.len() > 1 && found.levels.len() < rows.len() {
                blocks.push(found);
            }
        }
        if let (Some(row), Some(column)) = (search.named(&ROW), search.named(&COLUMN)) {
            blocks.push(search.factor(row, findings)?);
            blocks.push(search.factor(column, findings)?);
        }
    }
    let mut blocks = distinct_blocks(blocks);
    let one =
        |name: &Option<String>, words: &[&str], role: &str, findings: &mut Vec<Finding>| match name
        {
            Some(name) => search.told(name, role, findings).map(Some),
            None => match search.named(words) {
                Some(column) => search.factor(column, findings).map(Some),
                None => Ok(None),
            },
        };
    let compared = |f: &Factor| treatments.iter().any(|t| t.name == f.name);
    let period = one(&request.period, &PERIOD, "period", findings)?.filter(|f| !compared(f));
    let sequence =
        one(&request.sequence, &SEQUENCE, "sequence", findings)?.filter(|f| !compared(f));
    let plots = plots(&search, unit.as_mut(), &treatments, &mut blocks, findings)?;
    let exposure = request
        .exposure
        .clone()
        .or_else(|| search.named(&EXPOSURE).map(|c| c.name.clone()));
    if let Some(name) = &exposure {
        wanted(table, name, "exposure")?;
    }

    // A unit that gets every treatment is a block (a dog, a day), or only a running number.
    let mut repeated = false;
    if let Some((found, told)) = &unit {
        let all_vary = treatments.iter().all(|t| varies_within(t, found));
        if all_vary && (is(&found.name, &REPEATED) || (*told && !is(&found.name, &UNIT))) {
            repeated = true;
            blocks.retain(|b| b.name != found.name);
            blocks.push(found.clone());
        } else if all_vary && found.levels.len() < rows.len() {
            findings.push(
                Finding::new(
                    Severity::Warn,
                    Code::UnitLabelsRepeat,
                    found.name.clone(),
                    format!(
                        "the same {} numbers occur in several treatments; they were taken as numbered afresh within each treatment",
                        found.name
                    ),
                )
                .help(format!("if one {0} really got every treatment, name {0} as the block", found.name)),
            );
        }
    }
    // A dog or judge told as the block is as much a repeated subject as one that was found.
    repeated |= blocks.iter().any(|b| is(&b.name, &REPEATED));
    if repeated
        && let Some(period) = &period
        && !blocks.iter().any(|b| b.name == period.name)
    {
        blocks.insert(0, period.clone());
    }
    // The subject stands last.
    blocks.sort_by_key(|b| {
        is(&b.name, &REPEATED)
            || unit
                .as_ref()
                .is_some_and(|(u, _)| repeated && u.name == b.name)
    });

    let taken = |name: &str| {
        treatments.iter().chain(&blocks).any(|f| f.name == name)
            || [&piece, &time, &period, &sequence, &plots]
                .iter()
                .any(|f| f.as_ref().is_some_and(|f| f.name == name))
            || exposure.as_deref() == Some(name)
            || unit.as_ref().is_some_and(|(u, _)| {
                u.name
                    .split(':')
                    .any(|part| part.eq_ignore_ascii_case(name))
            })
    };
    let quiet = ["row_number", "seed", "algorithm", "roles", "set aside"];
    let unused: Vec<&str> = search
        .free
        .iter()
        .filter(|c| !taken(&c.name) && !quiet.contains(&c.name.as_str()))
        .map(|c| c.name.as_str())
        .collect();
    if !unused.is_empty() {
        findings.push(columns_aside(&unused));
    }
    Ok(Roles {
        treatments,
        blocks,
        repeated,
        unit,
        plots,
        piece,
        time,
        period,
        sequence,
        covariates: request.covariates.clone(),
        exposure,
    })
}

/// The experimental unit, and whether it was told.
fn unit(
    search: &Search,
    findings: &mut Vec<Finding>,
) -> Result<Option<(Factor, bool)>, Vec<Finding>> {
    let Some(name) = &search.request.unit else {
        let column = search.meant(&UNIT).or_else(|| search.named(&REPEATED));
        return match column {
            Some(column) => Ok(Some((search.factor(column, findings)?, false))),
            None => Ok(None),
        };
    };
    if is(name, &PIECE) {
        return Err(stop(
            Code::PiecesAreNotReplicates,
            name,
            format!(
                "{name} can't be the experimental unit: pieces of one batch share its mixing, its baking and its mistakes"
            ),
            "name what was mixed and baked on its own (the batch, or the dough); ten pieces of one batch say how even it is, not whether another batch would come out the same",
        ));
    }
    // Several columns joined by colons number the unit together.
    let parts: Vec<&str> = if search.table.column(name).is_some() {
        vec![name]
    } else {
        name.split(':').collect()
    };
    let mut factors = Vec::with_capacity(parts.len());
    for part in parts {
        factors.push(search.told(part, "experimental unit", findings)?);
    }
    Ok(Some((
        if factors.len() == 1 {
            factors.remove(0)
        } else {
            cross(&factors.iter().collect::<Vec<_>>())
        },
        true,
    )))
}

/// When the same unit was measured again: told, or a time column that varies within what got one
/// treatment.
fn time(
    search: &Search,
    unit: Option<&(Factor, bool)>,
    treatments: &[Factor],
    findings: &mut Vec<Finding>,
) -> Result<Option<Factor>, Vec<Finding>> {
    if let Some(name) = &search.request.time {
        let found = search.told(name, "time", findings)?;
        if unit.is_none() {
            return Err(stop(
                Code::TimeWithoutUnit,
                name,
                format!("{name} says when, but no column says what was measured again"),
                "name the unit: the batch or the dog that has several times",
            ));
        }
        return Ok(Some(found));
    }
    let Some((unit, _)) = unit else {
        return Ok(None);
    };
    let mut parts: Vec<&Factor> = vec![unit];
    parts.extend(treatments);
    let own = cross(&parts);
    let words = [&TIME[..], &DAY, &["time"]].concat();
    for column in search.free.iter().filter(|c| is(&c.name, &words)) {
        if !search.filled(column) {
            continue;
        }
        let found = search.factor(column, findings)?;
        if found.levels.len() < 2
            || !varies_within(&found, &own)
            || found.levels.len() > search.rows.len() / 2
        {
            continue;
        }
        // One number per treatment, every day anew: measured again, or baked again?
        let doubtful = is(&column.name, &DAY) && is(&unit.name, &UNIT);
        let single = own.levels.len() == cross(&treatments.iter().collect::<Vec<_>>()).levels.len();
        if doubtful && single {
            return Err(stop(
                Code::DayMeasuredOrBaked,
                &column.name,
                format!(
                    "each treatment has one {} that stands on several levels of {}: was it measured again, or baked again under the same number?",
                    unit.name, column.name
                ),
                &format!(
                    "baked afresh: --block {0}; measured again: --time {0} (then there is one {1} per treatment, and no difference can be judged)",
                    column.name, unit.name
                ),
            ));
        }
        if doubtful && varies_within(&treatments[0], unit) {
            findings.push(
                Finding::new(
                    Severity::Warn,
                    Code::TakenAsMeasuredAgain,
                    column.name.clone(),
                    format!(
                        "{} numbers come back on every {}: each was taken as one {0} measured again",
                        unit.name, column.name
                    ),
                )
                .help(format!("if they were baked afresh, name {} as the block", column.name)),
            );
        }
        return Ok(Some(found));
    }
    Ok(None)
}

/// Blocks without those that say nothing beside others.
fn distinct_blocks(blocks: Vec<Factor>) -> Vec<Factor> {
    // A block that is the same split as another adds nothing.
    let mut kept: Vec<Factor> = Vec::new();
    for block in blocks {
        let same = kept
            .iter()
            .any(|k| !varies_within(k, &block) && !varies_within(&block, k));
        if !same {
            kept.push(block);
        }
    }
    // A block made up of whole finer blocks (the week of a day) says nothing the finer ones don't.
    let coarse = |block: &Factor| {
        kept.iter()
            .any(|other| other.name != block.name && !varies_within(block, other))
    };
    kept.iter().filter(|b| !coarse(b)).cloned().collect()
}

/// Larger units that hold several of the smaller ones. Where all treatments vary within them they
/// are blocks; where none does they are the experimental unit themselves.
fn plots(
    search: &Search,
    unit: Option<&mut (Factor, bool)>,
    treatments: &[Factor],
    blocks: &mut Vec<Factor>,
    findings: &mut Vec<Finding>,
) -> Result<Option<Factor>, Vec<Finding>> {
    if let Some(name) = &search.request.plots {
        return search.told(name, "whole plot", findings).map(Some);
    }
    let Some((unit, told)) = unit else {
        return Ok(None);
    };
    if !is(&unit.name, &UNIT) {
        return Ok(None);
    }
    for column in search.free.iter().filter(|c| is(&c.name, &UNIT)) {
        if column.name == unit.name || !search.filled(column) {
            continue;
        }
        let large = search.factor(column, findings)?;
        let nested = cross(&[&*unit, &large]).levels.len() == unit.levels.len();
        if !nested || large.levels.len() < 2 || large.levels.len() >= unit.levels.len() {
            continue;
        }
        let vary = treatments
            .iter()
            .filter(|t| varies_within(t, &large))
            .count();
        if vary == treatments.len() {
            if search.request.blocks.is_empty() {
                blocks.push(large);
                *blocks = distinct_blocks(std::mem::take(blocks));
            }
        } else if vary > 0 {
            return Ok(Some(large));
        } else {
            let cells = cross(&treatments.iter().collect::<Vec<_>>());
            if cells.levels.len() == large.levels.len() {
                findings.push(Finding::new(
                    Severity::Warn,
                    Code::OneLotPerTreatment,
                    large.name.clone(),
                    format!(
                        "each treatment comes from one {}: what is said holds for these, not for the next",
                        large.name
                    ),
                ).help("try each treatment from several of them"));
            } else if !*told {
                findings.push(Finding::new(
                    Severity::Note,
                    Code::LargerUnit,
                    large.name.clone(),
                    format!(
                        "a treatment was given to a whole {}, which holds several {}: the {0} is the unit",
                        large.name, plural(&unit.name)
                    ),
                ).help(format!("if each {} got its treatment on its own, name it as the unit", unit.name)));
                *unit = large;
            }
        }
    }
    Ok(None)
}

/// A unit's word for several, as far as English goes.
fn plural(word: &str) -> String {
    match word.chars().last() {
        Some('h' | 's' | 'x') => format!("{word}es"),
        _ => format!("{word}s"),
    }
}

fn treatments(
    search: &Search,
    unit: Option<&(Factor, bool)>,
    findings: &mut Vec<Finding>,
) -> Result<Vec<Factor>, Vec<Finding>> {
    let (request, rows) = (search.request, search.rows);
    let mut treatments = Vec::new();
    if request.treatments.is_empty() {
        let spare = |c: &&&Column| {
            let lists: [&[&str]; 8] = [
                &BLOCK, &UNIT, &PIECE, &REPEATED, &ASIDE, &ROW, &COLUMN, &EXPOSURE,
            ];
            let measured_again = unit.is_some() && is(&c.name, &TIME);
            let role = lists.iter().any(|list| is(&c.name, list));
            !(role || measured_again || plain(&c.name).contains("method"))
        };
        if let Some(column) = search.meant(&TREATMENT) {
            treatments.push(search.factor(column, findings)?);
        } else {
            let aside = |c: &&&Column| is(&c.name, &PERIOD) || is(&c.name, &SEQUENCE);
            let spare: Vec<&Column> = search.free.iter().filter(spare).copied().collect();
            let spare: Vec<&Column> = spare.into_iter().filter(|c| categorical(c, rows)).collect();
            // A period is a treatment only where nothing else is.
            let others = spare.iter().any(|c| !aside(&c));
            for column in spare.iter().filter(|c| !others || !aside(c)) {
                let found = search.factor(column, findings)?;
                let same = treatments
                    .iter()
                    .any(|t: &Factor| !varies_within(t, &found) && !varies_within(&found, t));
                if same {
                    findings.push(Finding::new(
                        Severity::Note,
                        Code::SameSplitTwice,
                        column.name.clone(),
                        format!("column {} splits the rows as another treatment column does and was left aside", column.name),
                    ));
                } else {
                    treatments.push(found);
                }
            }
        }
    } else {
        for name in &request.treatments {
            treatments.push(search.told(name, "treatment", findings)?);
        }
    }
    let names = |f: &[Factor]| {
        f.iter()
            .map(|f| f.name.clone())
            .collect::<Vec<_>>()
            .join(", ")
    };
    if treatments.is_empty() {
        return Err(stop(
            Code::NoTreatment,
            "treatment",
            "no column looks like the treatment".into(),
            "say which column holds the treatment",
        ));
    }
    let told = !request.treatments.is_empty();
    if treatments.len() > 4 && !told {
        return Err(stop(
            Code::WhichTreatments,
            "treatment",
            format!(
                "{} columns could be treatments: {}",
                treatments.len(),
                names(&treatments)
            ),
            "say which columns are the treatments",
        ));
    }
    if let Some(single) = treatments.iter().find(|t| t.levels.len() < 2) {
        return Err(stop(
            Code::OneTreatment,
            &single.name,
            format!(
                "{} has only one level, {}: there is nothing to compare",
                single.name,
                single.levels.join("")
            ),
            "give rows of at least two treatments",
        ));
    }
    Ok(treatments)
}

/// The column that tells units or pieces apart, for models of amounts: the unit's first, else the
/// piece's (then no column tells the units).
pub(crate) fn unit_column<'a>(table: &'a Table, but: &[&str]) -> Option<(&'a str, bool)> {
    let free = |list: &[&str]| {
        table
            .columns
            .iter()
            .map(|c| c.name.as_str())
            .find(|n| is(n, list) && !but.iter().any(|b| b.eq_ignore_ascii_case(n)))
    };
    free(&UNIT)
        .or_else(|| free(&REPEATED))
        .map(|n| (n, false))
        .or_else(|| free(&PIECE).map(|n| (n, true)))
}

/// Whether a column's name says when something was measured.
pub(crate) fn is_time(name: &str) -> bool {
    is(name, &TIME) || is(name, &DAY) || is(name, &["time"])
}

/// The columns of blocks and unit when they are all there is besides the response: then the spread
/// is what is asked.
pub(crate) fn only_groups(table: &Table, request: &AnalysisRequest) -> Option<Vec<String>> {
    if !request.treatments.is_empty() || request.out_of.is_some() {
        return None;
    }
    let rows: Vec<usize> = (0..table.row_numbers.len()).collect();
    let mut groups: Vec<String> = request.blocks.clone();
    groups.extend(request.unit.clone());
    let mut guessed: Vec<(usize, String)> = Vec::new();
    for column in &table.columns {
        let name = &column.name;
        let told = groups.iter().any(|g| g.eq_ignore_ascii_case(name));
        let aside = is(name, &PIECE) || is(name, &ASIDE) || name == "row_number";
        if told || aside || name.eq_ignore_ascii_case(&request.response) {
            continue;
        }
        let rank = if is(name, &BLOCK) {
            0
        } else if is(name, &UNIT) || is(name, &REPEATED) {
            1
        } else if is(name, &TREATMENT) || categorical(column, &rows) {
            return None;
        } else {
            continue;
        };
        guessed.push((rank, name.clone()));
    }
    guessed.sort();
    if groups.is_empty() {
        groups = guessed.into_iter().map(|(_, name)| name).collect();
    }
    (!groups.is_empty() && groups.iter().all(|g| table.column(g).is_some())).then_some(groups)
}
