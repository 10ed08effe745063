//! Who is who in a table: treatment, block, experimental unit, piece.

mod roles;
mod words;

pub(super) use roles::{columns_aside, is_time, only_groups, unit_column};

use super::rows::rows_in_words;
use super::table::{Cell, Column, Key, Table, problem};
use super::{AnalysisRequest, Subjects, bad_input, known};
use crate::Code;
use crate::response::Kind;
use crate::stats::design::{Factor, cross};
use crate::stats::moments;
use measure::{Finding, Severity};
use std::collections::{HashMap, HashSet};

/// Counts behind a response that counts so many of n, by unit.
#[derive(Clone, Debug)]
pub(super) struct Counts {
    pub k: Vec<f64>,
    pub n: Vec<f64>,
}

/// Units measured again.
#[derive(Clone, Debug)]
pub(super) struct Again {
    /// The time as a factor.
    pub time: Factor,
    /// The time of each line as a number: its own where all are numbers, else its place.
    pub when: Vec<f64>,
    /// What was measured again.
    pub subject: Factor,
}

/// A table laid out by experimental unit.
#[derive(Clone, Debug)]
pub(super) struct Laid {
    pub kind: Kind,
    pub measure: String,
    pub treatments: Vec<Factor>,
    pub blocks: Vec<Factor>,
    /// Which blocks are repeated subjects (dogs, herds): always random.
    pub repeated: bool,
    /// Whole plots when some treatments were laid on larger units.
    pub whole_plots: Option<Factor>,
    /// When, for units that were measured again: then a line is a unit at a time.
    pub again: Option<Again>,
    /// Sequence of a crossover, and each line's treatment of the period before.
    pub sequence: Option<Factor>,
    pub period: Option<Factor>,
    /// Amounts measured beside: name and the unit's mean.
    pub covariates: Vec<(String, Vec<f64>)>,
    /// What was looked at, for counts without a total.
    pub exposure: Option<Vec<f64>>,
    pub y: Vec<f64>,
    pub counts: Option<Counts>,
    /// Rows of the file behind each unit.
    pub rows: Vec<Vec<usize>>,
    /// Sum of squares and degrees of freedom of pieces within units.
    pub pieces: (f64, f64),
    /// Whether units hold several pieces.
    pub averaged: bool,
    pub unit: String,
    pub subjects: Option<Subjects>,
    pub layout: String,
    pub findings: Vec<Finding>,
}

impl Laid {
    /// All treatment factors crossed into one.
    pub(super) fn combined(&self) -> Factor {
        if self.treatments.len() == 1 {
            self.treatments[0].clone()
        } else {
            cross(&self.treatments.iter().collect::<Vec<_>>())
        }
    }

    /// Smallest number of units of a treatment combination.
    pub(super) fn least_units(&self) -> usize {
        self.combined().counts().into_iter().min().unwrap_or(0)
    }
}

fn stop(code: Code, about: &str, message: String, help: &str) -> Vec<Finding> {
    vec![Finding::new(Severity::Stop, code, about, message).help(help)]
}

fn wanted<'a>(table: &'a Table, name: &str, role: &str) -> Result<&'a Column, Vec<Finding>> {
    table.column(name).ok_or_else(|| {
        let names: Vec<&str> = table.columns.iter().map(|c| c.name.as_str()).collect();
        stop(
            Code::NoSuchColumn,
            name,
            format!("there is no column {name} for the {role}"),
            &format!("the columns are: {}", names.join(", ")),
        )
    })
}

/// Numbers of a column at the given table rows, or every text cell named.
fn numbers(table: &Table, column: &Column) -> Result<Vec<Option<f64>>, Vec<Finding>> {
    let mut problems = Vec::new();
    let mut out = Vec::with_capacity(column.cells.len());
    for (cell, &row) in column.cells.iter().zip(&table.row_numbers) {
        if let Cell::Text(text) = cell
            && problems.len() < 20
        {
            let comma = text.replacen(',', ".", 1).parse::<f64>().is_ok() && text.contains(',');
            let point = !comma && text.parse::<f64>().is_ok_and(f64::is_finite);
            let percent = text.trim_end_matches('%').trim().parse::<f64>().is_ok();
            let help = if comma {
                "it may be a decimal comma or a mark between thousands: write 1234 or 1.234, or say that decimals are commas"
            } else if point {
                "decimals are commas here, so the point may part thousands: write 1234 or 1,234"
            } else if percent {
                "write the number alone and keep percent in the column's name"
            } else {
                "write a number, or leave the cell empty when nothing was measured"
            };
            let mut found = problem(row, &column.name, format!("“{text}” is not a number"), help);
            found.code = if comma || point {
                Code::DecimalComma
            } else {
                Code::TextInNumberColumn
            }
            .into();
            problems.push(found);
        }
        out.push(cell.number());
    }
    if problems.is_empty() {
        Ok(out)
    } else {
        Err(problems)
    }
}

/// Numbers of a named column, one per row.
pub(crate) fn numbers_of(
    table: &Table,
    name: &str,
    role: &str,
) -> Result<Vec<Option<f64>>, Vec<Finding>> {
    numbers(table, wanted(table, name, role)?)
}

/// Whether any level of `unit` holds several levels of `factor`.
fn varies_within(factor: &Factor, unit: &Factor) -> bool {
    let mut first = vec![usize::MAX; unit.levels.len()];
    factor.codes.iter().zip(&unit.codes).any(|(&f, &u)| {
        if first[u] == usize::MAX {
            first[u] = f;
        }
        first[u] != f
    })
}

/// What a level says, whatever way it is written.
#[derive(PartialEq, Eq, Hash)]
enum Plain {
    Number(u64),
    Words(String),
}

/// The factor of a column over some rows; empty cells are problems.
fn factor(
    table: &Table,
    column: &Column,
    rows: &[usize],
    findings: &mut Vec<Finding>,
) -> Result<Factor, Vec<Finding>> {
    let mut codes = Vec::with_capacity(rows.len());
    let mut levels: Vec<String> = Vec::new();
    let mut empty = Vec::new();
    let mut known: HashMap<Key, usize> = HashMap::new();
    let mut last: Option<(Key, usize)> = None;
    for &row in rows {
        let cell = &column.cells[row];
        let Some(key) = cell.key() else {
            empty.push(table.row_numbers[row]);
            continue;
        };
        // Pieces of a batch mostly stand under each other.
        let code = match last {
            Some((before, code)) if before == key => code,
            _ => *known.entry(key).or_insert_with(|| {
                levels.extend(cell.label());
                levels.len() - 1
            }),
        };
        last = Some((key, code));
        codes.push(code);
    }
    if !empty.is_empty() {
        return Err(stop(
            Code::EmptyCell,
            &column.name,
            format!(
                "column {} is empty in {}",
                column.name,
                rows_in_words(&empty)
            ),
            "fill in which it was, or remove the row",
        ));
    }
    let factor = Factor::in_order(column.name.clone(), levels, codes);
    let mut seen: HashMap<Plain, &String> = HashMap::new();
    for level in &factor.levels {
        // `1.1` and `1.10` are two levels, and so are `007` and `7`; the writer may not have meant so.
        let plain = level.parse::<f64>().map_or_else(
            |_| Plain::Words(level.to_lowercase().replace(['-', '_'], " ")),
            |v| Plain::Number((v + 0.0).to_bits()),
        );
        if let Some(other) = seen.insert(plain, level) {
            findings.push(
                Finding::new(
                    Severity::Warn,
                    Code::LevelsLookAlike,
                    column.name.clone(),
                    format!("“{other}” and “{level}” are taken as two different levels"),
                )
                .help("write them the same way if they are the same"),
            );
        }
    }
    Ok(factor)
}

fn names(factors: &[&Factor]) -> String {
    let names: Vec<&str> = factors.iter().map(|f| f.name.as_str()).collect();
    names.join(" and ")
}

/// Lays the table out by experimental unit.
pub(super) fn lay_out(table: &Table, request: &AnalysisRequest) -> Result<Laid, Vec<Finding>> {
    let column = wanted(table, &request.response, "response")?;
    let about = known(request);
    let values = numbers(table, column)?;
    let out_of = match &request.out_of {
        Some(name) => Some(numbers(table, wanted(table, name, "number counted")?)?),
        None => None,
    };
    let mut findings = Vec::new();
    let excluded: HashSet<usize> = request.exclude.iter().map(|e| e.row).collect();
    for exclusion in &request.exclude {
        if !table.row_numbers.contains(&exclusion.row) {
            return Err(stop(
                Code::NoSuchRow,
                &format!("row {}", exclusion.row),
                format!("there is no row {} to leave out", exclusion.row),
                "give the row of the file; the header is row 1",
            ));
        }
    }
    let mut used = Vec::with_capacity(values.len());
    let mut missing = Vec::new();
    for (at, value) in values.iter().enumerate() {
        let number = table.row_numbers[at];
        if excluded.contains(&number) {
            continue;
        }
        let counted = out_of.as_ref().is_none_or(|n| n[at].is_some());
        if value.is_some() && counted {
            used.push(at);
        } else {
            missing.push(number);
        }
    }
    if !missing.is_empty() {
        findings.push(
            Finding::new(
                Severity::Warn,
                Code::MissingValues,
                request.response.clone(),
                format!("{} has no value in {}; they were left out", request.response, rows_in_words(&missing)),
            )
            .help("if the value is missing because the piece broke or was out of range, the means are too kind: say so beside the answer"),
        );
    }
    if used.len() < 2 {
        return Err(stop(
            Code::TooFewRows,
            &request.response,
            format!(
                "only {} rows have a value of {}",
                used.len(),
                request.response
            ),
            "give at least two batches of each treatment",
        ));
    }
    let roles = roles::roles(table, request, &used, &mut findings)?;
    let numbers_used: Vec<f64> = used.iter().filter_map(|&r| values[r]).collect();
    let file_rows: Vec<usize> = used.iter().map(|&r| table.row_numbers[r]).collect();
    let together = cross(&roles.treatments.iter().collect::<Vec<_>>());
    bad_input::values(
        request,
        about,
        &numbers_used,
        &file_rows,
        &together,
        &mut findings,
    )?;
    bad_input::thousands(table, column, &used)?;
    bad_input::methods(table, &roles.treatments, &used)?;
    let kind = kind(
        request,
        about,
        &numbers_used,
        out_of.is_some(),
        &mut findings,
    );

    let treatments: Vec<&Factor> = roles.treatments.iter().collect();
    let blocks: Vec<&Factor> = roles.blocks.iter().collect();
    let mut whole_plots = None;
    let mut unit_words = "row".to_string();
    // The key of a unit: everything that tells it from others.
    let mut parts: Vec<&Factor> = treatments.iter().chain(&blocks).copied().collect();
    let row_factor = Factor {
        name: "row".into(),
        levels: vec![String::new(); used.len()],
        codes: (0..used.len()).collect(),
    };
    let mut numbered = None;
    let mut subjects = None;
    if let Some((unit, _)) = &roles.unit {
        unit_words = unit.name.clone();
        if roles.repeated && blocks.last().is_some_and(|b| b.name == unit.name) {
            // A dog that gets several foods gives several units: a period of it, or its share of a
            // food.
            let own = |f: &&Factor| roles.period.as_ref().is_some_and(|p| p.name == f.name);
            let period = blocks.iter().copied().find(own);
            let apart = period.map_or_else(|| names(&treatments), |p| p.name.clone());
            unit_words = format!("{} and {apart}", unit.name);
            subjects = Some(Subjects {
                name: unit.name.clone(),
                number: unit.levels.len(),
                period: period.map(|p| p.name.clone()),
                periods: period.map(|p| p.levels.len()),
            });
        }
        parts.push(unit);
        // Batches may be numbered afresh in every whole plot.
        if let Some(plots) = &roles.plots {
            parts.push(plots);
            numbered = Some(cross(&[plots, unit]));
        }
        let unit = numbered.as_ref().unwrap_or(unit);
        let (inside, constant): (Vec<&Factor>, Vec<&Factor>) = treatments
            .iter()
            .copied()
            .partition(|t| varies_within(t, &cross(&[&blocks[..], &[unit]].concat())));
        if let Some(plots) = &roles.plots {
            whole_plots = Some(cross(&[&blocks[..], &[plots]].concat()));
        } else if !inside.is_empty() && !constant.is_empty() {
            let whole = cross(&[&blocks[..], &constant, &[unit]].concat());
            unit_words = format!(
                "{} for {}, part of it for the rest",
                unit.name,
                names(&constant)
            );
            whole_plots = Some(whole);
        }
    } else if let Some(piece) = &roles.piece {
        unit_words = if blocks.is_empty() {
            "one batch per treatment".into()
        } else {
            format!("one batch per treatment and {}", blocks[0].name)
        };
        findings.push(
            Finding::new(
                Severity::Warn,
                Code::PiecesAveraged,
                piece.name.clone(),
                "no column tells the batches apart, so the pieces of a treatment were averaged as one batch".to_string() + if blocks.is_empty() { "" } else { " in each block" },
            )
            .help("name the column that says what was mixed and baked on its own"),
        );
    } else {
        parts.push(&row_factor);
        findings.push(
            Finding::new(
                Severity::Note,
                Code::EachRowAUnit,
                "unit",
                "each row was taken as mixed and baked on its own",
            )
            .help("if several rows are pieces of one batch, name the batch column as the unit: pieces are not replicates, and the intervals here would be too narrow"),
        );
    }
    if !request.whole_plot.is_empty() {
        let whole: Vec<&Factor> = treatments
            .iter()
            .copied()
            .filter(|t| {
                request
                    .whole_plot
                    .iter()
                    .any(|w| w.eq_ignore_ascii_case(&t.name))
            })
            .collect();
        if whole.len() != request.whole_plot.len() {
            return Err(stop(
                Code::NoSuchFactor,
                "whole plot",
                format!(
                    "whole-plot factors must be treatments; got {}",
                    request.whole_plot.join(", ")
                ),
                "name a treatment column",
            ));
        }
        if blocks.is_empty() && roles.plots.is_none() {
            return Err(stop(
                Code::WholePlotsUnknown,
                "whole plot",
                "without blocks or a unit column the whole plots can't be told apart".into(),
                "name the block, or the column that numbers the whole plots",
            ));
        }
        if roles.plots.is_none() {
            whole_plots = Some(cross(&[&blocks[..], &whole].concat()));
        }
    }
    let mut subject = None;
    if let Some(time) = &roles.time {
        subject = Some(cross(&parts));
        parts.push(time);
    }
    if whole_plots.is_none() && treatments.len() > 1 && blocks.len() == 1 && roles.unit.is_none() {
        findings.push(
            Finding::new(
                Severity::Note,
                Code::WholePlotsNotNamed,
                blocks[0].name.clone(),
                format!("every combination was taken as drawn afresh within each {}", blocks[0].name),
            )
            .help("if one factor (an oven setting) was set once for several formulas, name it as the whole-plot factor: it is then judged against the spread of its own settings"),
        );
    }
    let key = cross(&parts);
    bad_input::duplicates(
        &key,
        roles.piece.as_ref(),
        &numbers_used,
        &file_rows,
        &mut findings,
    );

    // One line per unit.
    let size = key.levels.len();
    let mut members: Vec<Vec<usize>> = vec![Vec::new(); size];
    for (at, &unit) in key.codes.iter().enumerate() {
        members[unit].push(at);
    }
    // Units in the order of the file.
    members.sort_by_key(|m| m[0]);
    let firsts: Vec<usize> = members.iter().map(|m| m[0]).collect();
    let averaged = members.iter().any(|m| m.len() > 1);
    let mut y = Vec::with_capacity(size);
    let mut pieces = (0.0, 0.0);
    for unit in &members {
        let own: Vec<f64> = unit.iter().map(|&i| numbers_used[i]).collect();
        pieces.0 += moments::sum_of_squares(&own);
        pieces.1 += own.len() as f64 - 1.0;
        y.extend(if kind == Kind::Count {
            Some(own.iter().sum())
        } else {
            moments::mean(&own)
        });
    }
    if kind == Kind::Count
        && let Some(at) = numbers_used
            .iter()
            .position(|v| !(0.0..=1e9).contains(v) || v.fract() != 0.0)
    {
        return Err(stop(
            Code::CountsDoNotFit,
            &format!("row {}", file_rows[at]),
            format!("row {}: {} is not a count", file_rows[at], numbers_used[at]),
            "give whole numbers from 0 to a thousand million, and what was looked at in a column of its own (--exposure)",
        ));
    }
    let counts = if matches!(kind, Kind::CountOf | Kind::Binary) {
        // Rows without a total were left out above; a yes or no is one of one.
        let of: Vec<f64> = match &out_of {
            Some(n) => used.iter().filter_map(|&r| n[r]).collect(),
            None => vec![1.0; used.len()],
        };
        bad_input::counts(&numbers_used, &of, &file_rows)?;
        Some(Counts {
            k: members
                .iter()
                .map(|m| m.iter().map(|&i| numbers_used[i]).sum())
                .collect(),
            n: members
                .iter()
                .map(|m| m.iter().map(|&i| of[i]).sum())
                .collect(),
        })
    } else {
        None
    };
    if averaged {
        let sizes: Vec<usize> = members.iter().map(Vec::len).collect();
        let (least, most) = (sizes.iter().min(), sizes.iter().max());
        if least != most && kind == Kind::Continuous {
            findings.push(Finding::new(
                Severity::Note,
                Code::UnequalPieces,
                unit_words.clone(),
                format!(
                    "units hold {} to {} pieces; each unit's mean counts once",
                    least.unwrap_or(&0),
                    most.unwrap_or(&0)
                ),
            ));
        }
    }
    let at_units = |f: &Factor| f.rows(&firsts);
    let mut again = None;
    if let (Some(time), Some(subject)) = (&roles.time, &subject) {
        let column = wanted(table, &time.name, "time")?;
        let own: Option<Vec<f64>> = firsts
            .iter()
            .map(|&i| column.cells[used[i]].number())
            .collect();
        let time = at_units(time);
        again = Some(Again {
            when: own.unwrap_or_else(|| time.codes.iter().map(|&c| c as f64).collect()),
            time,
            subject: at_units(subject),
        });
    }
    let averages = |name: &str, role: &str| -> Result<Vec<f64>, Vec<Finding>> {
        let column = wanted(table, name, role)?;
        let given = numbers(table, column)?;
        let empty: Vec<usize> = used
            .iter()
            .filter(|&&r| given[r].is_none())
            .map(|&r| table.row_numbers[r])
            .collect();
        if !empty.is_empty() {
            return Err(stop(
                Code::EmptyCell,
                name,
                format!("column {name} is empty in {}", rows_in_words(&empty)),
                "fill it in, or leave the row out with a reason",
            ));
        }
        Ok(members
            .iter()
            .map(|m| {
                let own: Vec<f64> = m.iter().filter_map(|&i| given[used[i]]).collect();
                if role == "exposure" {
                    Some(own.iter().sum())
                } else {
                    moments::mean(&own)
                }
            })
            .collect::<Option<_>>()
            .unwrap_or_default())
    };
    let mut covariates = Vec::new();
    for name in &roles.covariates {
        covariates.push((name.clone(), averages(name, "covariate")?));
    }
    let exposure = match &roles.exposure {
        Some(name) if kind == Kind::Count => Some(averages(name, "exposure")?),
        _ => None,
    };
    if let Some(exposure) = &exposure
        && exposure.iter().any(|e| *e <= 0.0)
    {
        return Err(stop(
            Code::ExposureNotAboveZero,
            roles.exposure.as_deref().unwrap_or_default(),
            "what was looked at must be above 0".into(),
            "give the pieces, the area or the time that was looked at",
        ));
    }
    let laid_treatments: Vec<Factor> = roles.treatments.iter().map(at_units).collect();
    let laid_blocks: Vec<Factor> = roles.blocks.iter().map(at_units).collect();
    let mut layout = describe(
        &laid_treatments,
        &laid_blocks,
        whole_plots.is_some(),
        averaged,
        &unit_words,
    );
    if let Some(again) = &again {
        layout += &format!(
            "; each {unit_words} measured at {} levels of {}",
            again.time.levels.len(),
            again.time.name
        );
    }
    Ok(Laid {
        kind,
        measure: request
            .measure
            .clone()
            .or_else(|| about.map(|a| a.unit.to_string()))
            .unwrap_or_default(),
        treatments: laid_treatments,
        blocks: laid_blocks,
        repeated: roles.repeated,
        whole_plots: whole_plots.as_ref().map(at_units),
        again,
        sequence: roles.sequence.as_ref().map(at_units),
        period: roles.period.as_ref().map(at_units),
        covariates,
        exposure,
        y,
        counts,
        rows: members
            .iter()
            .map(|m| m.iter().map(|&i| file_rows[i]).collect())
            .collect(),
        pieces,
        averaged,
        unit: unit_words,
        subjects,
        layout,
        findings,
    })
}

fn describe(
    treatments: &[Factor],
    blocks: &[Factor],
    split: bool,
    averaged: bool,
    unit: &str,
) -> String {
    let name = |f: &Factor| format!("{} ({} levels)", f.name, f.levels.len());
    let mut words = treatments.iter().map(name).collect::<Vec<_>>().join(" × ");
    if !blocks.is_empty() {
        let blocks: Vec<String> = blocks.iter().map(name).collect();
        words += &format!(" in blocks of {}", blocks.join(" and "));
    }
    if split {
        words += ", split plots";
    }
    if averaged {
        words += &format!("; pieces averaged by {unit}");
    }
    words
}

fn kind(
    request: &AnalysisRequest,
    about: Option<crate::response::About>,
    values: &[f64],
    out_of: bool,
    findings: &mut Vec<Finding>,
) -> Kind {
    if out_of {
        return Kind::CountOf;
    }
    let asked = request.kind.or(about.map(|a| a.kind));
    let binary = values.iter().all(|v| *v == 0.0 || *v == 1.0);
    match asked {
        Some(Kind::CountOf) if !binary => {
            findings.push(
                Finding::new(
                    Severity::Warn,
                    Code::CountWithoutTotal,
                    request.response.clone(),
                    format!("{} counts so many of n, but no column of n was named; analysed as a plain amount", request.response),
                )
                .help("name the column that holds how many were counted"),
            );
            Kind::Continuous
        }
        Some(kind) => kind,
        None if binary => Kind::Binary,
        None => Kind::Continuous,
    }
}
